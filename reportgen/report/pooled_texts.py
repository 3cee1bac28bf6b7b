"""How trials are pooled, and the literature behind it."""

from reportgen.language import marked

METHOD = marked(
    "Each trial's ratio is taken as a log response ratio, whose variance comes from the spread"
    " between its trays, and the trials are pooled with random effects: every trial may have a true"
    " ratio of its own. The variance between trials is estimated by restricted maximum likelihood"
    " (REML), the interval is that of Hartung and Knapp, never narrower than the trials' own errors"
    " allow, and the prediction interval says where the true ratio of a further trial like these"
    " may lie. I² is the share of the variation between trials that their own errors do not"
    " explain. What instruments leave uncertain is in a trial's own interval where its report has"
    " it there, not in the pooled figure."
)


REFERENCES = (
    (
        marked("Log response ratios: {source}"),
        (
            "Hedges, L. V., Gurevitch, J. and Curtis, P. S. (1999). The meta-analysis of response"
            " ratios in experimental ecology. Ecology 80, 1150-1156."
        ),
    ),
    (
        marked("Interval: {source}"),
        (
            "Hartung, J. and Knapp, G. (2001). A refined method for the meta-analysis of controlled"
            " clinical trials with binary outcome. Statistics in Medicine 20, 3875-3889."
        ),
    ),
    (
        marked("Least factor of the interval: {source}"),
        (
            "Röver, C., Knapp, G. and Friede, T. (2015). Hartung-Knapp-Sidik-Jonkman approach and"
            " its modification for random-effects meta-analysis with few studies. BMC Medical"
            " Research Methodology 15, 99."
        ),
    ),
    (
        marked("REML: {source}"),
        (
            "Viechtbauer, W. (2005). Bias and efficiency of meta-analytic variance estimators in"
            " the random-effects model. Journal of Educational and Behavioral Statistics 30,"
            " 261-293."
        ),
    ),
    (
        marked("Prediction interval: {source}"),
        (
            "Higgins, J. P. T., Thompson, S. G. and Spiegelhalter, D. J. (2009). A re-evaluation of"
            " random-effects meta-analysis. Journal of the Royal Statistical Society A 172,"
            " 137-159."
        ),
    ),
)
