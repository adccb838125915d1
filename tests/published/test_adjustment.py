"""Adjusted p-values against Benjamini and Hochberg (1995) and R's `p.adjust`."""

import pytest

from workbench.inference.adjustment import (
    benjamini_hochberg,
    benjamini_yekutieli,
    hochberg,
    holm,
)

# Benjamini and Hochberg (1995), JRSS B 57, 289-300, section 4.1: thrombolysis, 15 p-values.
THROMBOLYSIS = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000),
]


def test_the_paper_rejects_four_at_five_per_cent_and_bonferroni_three():
    assert (benjamini_hochberg(THROMBOLYSIS) <= 0.05).sum() == 4
    assert (holm(THROMBOLYSIS) <= 0.05).sum() == 3


@pytest.mark.parametrize(
    ("adjust", "printed"),
    [
        (
            holm,
            [
                *(0.0015, 0.0056, 0.0247, 0.1140, 0.2211, 0.2780, 0.2780, 0.2780),
                *(0.3213, 1, 1, 1, 1, 1, 1),
            ],
        ),
        (
            hochberg,
            [
                *(0.0015, 0.0056, 0.0247, 0.1140, 0.2211, 0.2682, 0.2682, 0.2752),
                *(0.3213, 1, 1, 1, 1, 1, 1),
            ],
        ),
        (
            benjamini_hochberg,
            [
                *(0.0015, 0.0030, 0.0095, 0.035625, 0.0603, 0.063857, 0.063857, 0.0645),
                *(0.0765, 0.486, 0.581182, 0.714875, 0.753231, 0.813214, 1),
            ],
        ),
    ],
)
def test_against_p_adjust_of_r(adjust, printed):
    """Computed with R 4.2.2, printed to these digits."""
    assert adjust(THROMBOLYSIS) == pytest.approx(printed, abs=6e-7)


def test_any_dependence_against_p_adjust_of_r():
    """The first four by Benjamini and Yekutieli (2001), R 4.2.2."""
    printed = [0.00497734, 0.00995469, 0.03152318, 0.11821191]
    assert benjamini_yekutieli(THROMBOLYSIS)[:4] == pytest.approx(printed, abs=6e-9)
