"""Every figure of the samples and of the made trials, as it is drawn: nothing outside, nothing on a label, readable."""

from pathlib import Path

import pytest

from reportgen import metrics, pipeline, report
from reportgen.charts import theme
from reportgen.language import calling_units, of, using
from reportgen.metrics.pooled import compare
from reportgen.model.document import Figure
from reportgen.render.figures import svg, narrow_svg
from tests import svg_boxes
from tests.made_trials import SHEETS, write_made
