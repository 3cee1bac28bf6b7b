"""Everything that a settings file says."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.layouts import Layout


@dataclass(frozen=True)
class Settings:
    """What the settings file of a log says, of its first line `adopt = 2` on.

    `files` are further files read with the log, by name. Beside a `trial_workbook` they alone are
    read by these settings: the workbook is read as it is. `layouts` are the tables. `trial` are
    fields of the sheet Trial by name, as text, number or date. `independent` is what was treated
    independently: `unit`, `plant`, `treatment` (then each treatment stood once) or the name of a
    dimension or column. `treatments` are names by label, in the order of the report. `answers` are
    further answers by question key that no other key keeps (`none`, skipped). `confirmed` is what
    its owner said is the trial: by quantity and treatment, units, values and total. `lines` are the
    numbers of the lines by key path, such as `table.0.treatment`; `name` is the file's name.
    """

    layouts: tuple[Layout, ...] = ()
    files: tuple[str, ...] = ()
    conventions: Conventions = field(default_factory=Conventions)
    trial: Mapping[str, object] = field(default_factory=dict)
    independent: str = ""
    treatments: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    confirmed: Mapping[str, Mapping[str, tuple[int, int, float]]] = field(default_factory=dict)
    trial_workbook: bool = False
    name: str = field(default="", compare=False)
    lines: Mapping[str, int] = field(default_factory=dict, compare=False)
