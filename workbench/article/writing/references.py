"""The standards and published methods the write-up refers to.

All particulars are from memory, unless a note of the work says that its page was seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Sort = Literal["article-journal", "standard"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A published work. `authors` are (family name, initials); a body has no initials."""

    key: str
    sort: Sort
    authors: tuple[tuple[str, str], ...]
    year: int
    title: str
    journal: str = ""
    volume: str = ""
    pages: str = ""
    number: str = ""

    @property
    def short(self) -> str:
        """Author and year, as the text refers to the work."""
        if self.sort == "standard":
            return f"{self.number}:{self.year}"
        names = [family for family, _ in self.authors]
        if len(names) > 2:
            return f"{names[0]} and others {self.year}"
        return f"{' and '.join(names)} {self.year}"

    @property
    def full(self) -> str:
        """The entry in the list of references."""
        if self.sort == "standard":
            return f"{self.authors[0][0]}. {self.title}. {self.number}:{self.year}."
        names = ", ".join(f"{family} {initials}".rstrip() for family, initials in self.authors)
        return f"{names}. {self.title}. {self.journal} {self.year}; {self.volume}: {self.pages}."


def _article(
    key: str, authors: str, year: int, title: str, journal: str, volume: str, pages: str
) -> Reference:
    split = (name.rpartition(" ") for name in authors.split(", "))
    return Reference(
        key=key,
        sort="article-journal",
        authors=tuple((family, initials) for family, _, initials in split),
        year=year,
        title=title,
        journal=journal,
        volume=volume,
        pages=pages,
    )


def _standard(key: str, body: str, number: str, year: int, title: str) -> Reference:
    return Reference(
        key=key, sort="standard", authors=((body, ""),), year=year, title=title, number=number
    )


_WORKS = (
    _article(
        "altman1995", "Altman DG, Bland JM", 1995,
        "Absence of evidence is not evidence of absence", "BMJ", "311", "485",
    ),
    _article(
        "chan1999", "Chan ISF, Zhang Z", 1999,
        "Test-based exact confidence intervals for the difference of two binomial proportions",
        "Biometrics", "55", "1202–1209",
    ),
    _article(
        "efron1987", "Efron B", 1987, "Better bootstrap confidence intervals",
        "Journal of the American Statistical Association", "82", "171–185",
    ),
    _article(
        "farrington1990", "Farrington CP, Manning G", 1990,
        "Test statistics and sample size formulae for comparative binomial trials with null "
        "hypothesis of non-zero risk difference or non-unity relative risk",
        "Statistics in Medicine", "9", "1447–1454",
    ),
    _article(
        "holm1979", "Holm S", 1979, "A simple sequentially rejective multiple test procedure",
        "Scandinavian Journal of Statistics", "6", "65–70",
    ),
    _article(
        "kenward1997", "Kenward MG, Roger JH", 1997,
        "Small sample inference for fixed effects from restricted maximum likelihood",
        "Biometrics", "53", "983–997",
    ),
    _article(
        "lang2015", "Lang TA, Altman DG", 2015,
        "Basic statistical reporting for articles published in biomedical journals: the "
        "“Statistical Analyses and Methods in the Published Literature” or the SAMPL Guidelines",
        "International Journal of Nursing Studies", "52", "5–9",
    ),
    _article(
        "patterson1971", "Patterson HD, Thompson R", 1971,
        "Recovery of inter-block information when block sizes are unequal",
        "Biometrika", "58", "545–554",
    ),
    _article(
        "pitman1937", "Pitman EJG", 1937,
        "Significance tests which may be applied to samples from any populations",
        "Supplement to the Journal of the Royal Statistical Society", "4", "119–130",
    ),
    _article(
        "schuirmann1987", "Schuirmann DJ", 1987,
        "A comparison of the two one-sided tests procedure and the power approach for assessing "
        "the equivalence of average bioavailability",
        "Journal of Pharmacokinetics and Biopharmaceutics", "15", "657–680",
    ),
    _article(
        "welch1947", "Welch BL", 1947,
        "The generalization of “Student's” problem when several different population variances "
        "are involved",
        "Biometrika", "34", "28–35",
    ),
    _article(
        "wilson1927", "Wilson EB", 1927,
        "Probable inference, the law of succession, and statistical inference",
        "Journal of the American Statistical Association", "22", "209–212",
    ),
    _standard(
        "jcgm100", "Joint Committee for Guides in Metrology", "JCGM 100", 2008,
        "Evaluation of measurement data: Guide to the expression of uncertainty in measurement",
    ),
    _standard(
        "iso80000", "International Organization for Standardization", "ISO 80000-1", 2009,
        "Quantities and units. Part 1: General",
    ),
)  # fmt: skip
WORKS = {work.key: work for work in _WORKS}

METHODS = {
    "Kenward-Roger": ("patterson1971", "kenward1997"),
    "Welch": ("welch1947",),
    "permutation": ("pitman1937",),
    "exact unconditional": ("chan1999",),
    "Farrington": ("farrington1990",),
    "Wilson": ("wilson1927",),
    "BCa": ("efron1987",),
}


def works_of(method: str) -> tuple[Reference, ...]:
    """Give the works behind a method, by what its name says."""
    keys = (key for word, found in METHODS.items() if word in method for key in found)
    return tuple(WORKS[key] for key in keys)
