"""The literature behind the statistics of a report."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.measures import is_ratio_of_totals
from reportgen.model.results import Results
from reportgen.model.trial import Trial
from reportgen.report import (
    wording,
)

Reference = tuple[str, str]  # what it is the source of, and the source as it is cited everywhere


OF_TOTALS: Reference = (
    marked("Ratio of totals and its linearised scores"),
    "Cochran, W. G. (1977). Sampling Techniques, 3rd ed., chapter 6. Wiley.",
)


OF_FIELLER: Reference = (
    marked("Break-even price, and ratios of values at or below zero"),
    (
        "Fieller, E. C. (1954). Some problems in interval estimation. Journal of the Royal"
        " Statistical Society B 16, 175-185."
    ),
)


OF_LOGARITHMS: Reference = (
    marked("Means and ratios on the log scale"),
    (
        "Bland, J. M. and Altman, D. G. (1996). Transformations, means, and confidence intervals."
        " BMJ 312, 1079."
    ),
)


OF_SEPARATE_VARIANCES: Reference = (
    marked("Degrees of freedom of separate variances"),
    (
        "Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance"
        " components. Biometrics Bulletin 2, 110-114."
    ),
)


OF_UNITS: Reference = (
    marked("Experimental units"),
    (
        "Hurlbert, S. H. (1984). Pseudoreplication and the design of ecological field experiments."
        " Ecological Monographs 54, 187-211."
    ),
)


OF_SURVIVAL: Reference = (
    marked("Share of plants that survived"),
    (
        "Wilson, E. B. (1927). Probable inference, the law of succession, and statistical"
        " inference. Journal of the American Statistical Association 22, 209-212; Newcombe, R. G."
        " (1998). Interval estimation for the difference between independent proportions."
        " Statistics in Medicine 17, 873-890."
    ),
)


OF_OUTLIERS: Reference = (
    marked("Unusual plants"),
    (
        "Iglewicz, B. and Hoaglin, D. C. (1993). How to detect and handle outliers. ASQC Quality"
        " Press."
    ),
)


REFERENCES: Final = (
    OF_TOTALS,
    OF_FIELLER,
    OF_LOGARITHMS,
    OF_SEPARATE_VARIANCES,
    OF_UNITS,
    OF_SURVIVAL,
    OF_OUTLIERS,
)


OF_SEVERAL: tuple[Reference, ...] = (
    (
        marked("Several treatments with one"),
        (
            "Dunnett, C. W. (1955). A multiple comparison procedure for comparing several"
            " treatments with a control. Journal of the American Statistical Association 50,"
            " 1096-1121."
        ),
    ),
    (
        marked("Letters"),
        (
            "Piepho, H.-P. (2004). An algorithm for a letter-based representation of all-pairwise"
            " comparisons. Journal of Computational and Graphical Statistics 13, 456-466."
        ),
    ),
)


OF_SCORES: tuple[Reference, ...] = (
    (
        marked("Ranks of ordered classes"),
        (
            "Mann, H. B. and Whitney, D. R. (1947). On a test of whether one of two random"
            " variables is stochastically larger than the other. Annals of Mathematical Statistics"
            " 18, 50-60."
        ),
    ),
    (
        marked("Limits of the chance of the higher score"),
        (
            "Newcombe, R. G. (2006). Confidence intervals for an effect size measure based on the"
            " Mann-Whitney statistic. Part 2: asymptotic methods and evaluation. Statistics in"
            " Medicine 25, 559-573."
        ),
    ),
)


OF_FACTORS: Final[Mapping[str, Reference]] = {  # by the method that an analysis names
    "two_factor_model": (
        marked("Two factors and their interaction"),
        "Searle, S. R. (1971). Linear Models, chapters 7 and 8. Wiley.",
    ),
    "split_plot_model": (
        marked("Main plots and what stands in them"),
        (
            "Yates, F. (1935). Complex experiments. Supplement to the Journal of the Royal"
            " Statistical Society 2, 181-247."
        ),
    ),
    "dose_model": (
        marked("Curves along doses and their lack of fit; the limits of an optimum are Fieller's"),
        (
            "Box, G. E. P. and Draper, N. R. (1987). Empirical Model-Building and Response"
            " Surfaces, chapter 3. Wiley."
        ),
    ),
}


OF_INSTRUMENTS: Reference = (
    marked("Instruments"),
    "JCGM 100:2008. Guide to the expression of uncertainty in measurement.",
)


OF_VAPOUR: Reference = (
    marked("Vapour pressure deficit"),
    (
        "Allen, R. G., Pereira, L. S., Raes, D. and Smith, M. (1998). Crop evapotranspiration. FAO"
        " Irrigation and Drainage Paper 56, equation 11."
    ),
)


def cited(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return the sources of the methods that this report used."""
    compares = not trial.interim
    is_used = {
        OF_TOTALS: any(is_ratio_of_totals(result.measure) for result in results.measures),
        OF_FIELLER: compares,
        OF_SEPARATE_VARIANCES: compares,
        OF_SURVIVAL: wording.result_of(results, "survival") is not None,
        OF_OUTLIERS: any(verdict.check == "outliers" for verdict in results.fairness),
    }
    references = [reference for reference in REFERENCES if is_used.get(reference, True)]
    if compares and len(trial.treatments) > 2:
        references += OF_SEVERAL
    references += _cited_for_factors(results)
    if results.scores:
        references += OF_SCORES
    if trial.instruments:
        references.append(OF_INSTRUMENTS)
    if wording.result_of(results, "vpd"):
        references.append(OF_VAPOUR)
    return tuple(f"{say(method)}: {source}" for method, source in references)


def _cited_for_factors(results: Results) -> tuple[Reference, ...]:
    """Return the sources of the methods by which factors and doses were analysed."""
    used = {method.code for analysis in results.effects.analyses for method in analysis.methods}
    if any(analysis.trends for analysis in results.effects.analyses):
        used.add("dose_model")
    return tuple(reference for code, reference in OF_FACTORS.items() if code in used)
