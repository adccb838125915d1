"""The claims file: what is accepted, and every fault at its key."""

import pytest

from workbench.claims.claim import Claim, FaultyClaim
from workbench.claims.ledger import MOST_CLAIMS, load_ledger
from workbench.records.settings import Quantity, Settings, built_in_quantities

SETTINGS = Settings(
    title="Invented",
    families={},
    quantities=built_in_quantities()
    | {"porosity": Quantity(name="porosity", label="porosity", unit="spots", kind="other")},
)
SOUND = {
    "id": '"deck"',
    "statement": '"The trophy deck is thicker."',
    "quantity": '"deck_thickness"',
    "candidate": '"trophy"',
    "reference": '"works"',
    "direction": '"greater"',
    "unit": '"mm"',
}


@pytest.fixture
def load(tmp_path):
    def _load(text, families=("trophy", "works")):
        path = tmp_path / "claims.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return load_ledger(path, SETTINGS, families=families)

    return _load


def entry(**changes):
    lines = [f"{key} = {value}" for key, value in (SOUND | changes).items() if value is not None]
    return "\n".join(["[[claim]]", *lines, ""])


def test_a_sound_claim_with_its_defaults(load):
    ledger = load(entry())
    assert ledger.faults == ()
    (claim,) = ledger.claims
    assert claim == Claim(
        id="deck",
        statement="The trophy deck is thicker.",
        quantity="deck_thickness",
        candidate="trophy",
        reference="works",
        direction="greater",
        unit="mm",
    )
    assert (claim.figure, claim.margin, claim.scope) == ("mean", 0.0, "family")


def test_every_field_is_kept(load):
    text = entry(
        heard_from='"newsletter"',
        figure='"share_below"',
        direction='"less"',
        margin="0.1",
        scope='"block"',
        threshold="3",
    )
    (claim,) = load(text).claims
    assert (claim.heard_from, claim.figure, claim.direction) == (
        "newsletter",
        "share_below",
        "less",
    )
    assert (claim.margin, claim.scope, claim.threshold) == (0.1, "block", 3.0)


@pytest.mark.parametrize(("written", "kept"), [('"inch"', "in"), ('"in."', "in"), ('"mm"', "mm")])
def test_a_unit_is_kept_by_its_one_name(load, written, kept):
    assert load(entry(unit=written)).claims[0].unit == kept


def test_a_unit_of_the_users_own_is_kept_as_written(load):
    ledger = load(entry(quantity='"porosity"', unit='"spots"'))
    assert ledger.claims[0].unit == "spots"
    assert load(entry(quantity='"porosity"', unit='"mm"')).faults[0].code == "unit_mismatch"


def test_a_margin_below_zero_is_a_claim_of_being_no_worse(load):
    assert load(entry(margin="-1.5")).claims[0].margin == -1.5


@pytest.mark.parametrize(
    ("changes", "key", "code", "says"),
    [
        ({"margn": "1.0"}, "margn", "unknown_field", "did you mean “margin”"),
        ({"unit": None}, "unit", "missing_field", "needs the field “unit”"),
        ({"id": None}, "id", "missing_field", "needs the field “id”"),
        ({"statement": '""'}, "statement", "empty", "empty"),
        ({"statement": "3"}, "statement", "wrong_type", "a text in quotes, not a number"),
        ({"statement": "2026-01-01"}, "statement", "wrong_type", "not a date"),
        ({"statement": f'"{"x" * 1001}"'}, "statement", "too_long", "1001 characters; 1000"),
        ({"heard_from": f'"{"x" * 501}"'}, "heard_from", "too_long", "501 characters; 500"),
        ({"statement": r'"a\u001b[2J"'}, "statement", "hidden_character", r"\x1b"),
        ({"candidate": r'"tro\u202ephy"'}, "candidate", "hidden_character", r"\u202e"),
        ({"id": f'"{"x" * 81}"'}, "id", "too_long", "81 characters; 80"),
        ({"id": '"../../etc/passwd"'}, "id", "bad_id", "letters a to z"),
        ({"id": '"a b"'}, "id", "bad_id", "letters a to z"),
        ({"id": '".hidden"'}, "id", "bad_id", "starts with a letter"),
        ({"quantity": '"deck_thicknes"'}, "quantity", "unknown_quantity", "“deck_thickness”"),
        ({"candidate": '"trophie"'}, "candidate", "unknown_family", "did you mean “trophy”"),
        ({"reference": '"standard"'}, "reference", "unknown_family", "study.toml or in the read"),
        ({"reference": '"trophy"'}, "reference", "same_family", "compared with itself"),
        ({"direction": '"more"'}, "direction", "bad_choice", "greater, less, same, different"),
        ({"direction": '"greatr"'}, "direction", "bad_choice", "did you mean “greater”"),
        ({"figure": '"average"'}, "figure", "bad_choice", "mean, spread, thinnest, share_below"),
        ({"scope": '"world"'}, "scope", "bad_choice", "family, block"),
        ({"analysis": '"welsh"'}, "analysis", "bad_choice", "common_spreads, own_spreads, welch"),
        ({"analysis": '"welsh"'}, "analysis", "bad_choice", "did you mean “welch”"),
        (
            {"analysis": '"welch"', "figure": '"spread"'},
            "analysis",
            "analysis_misplaced",
            "Only a claim on the mean",
        ),
        ({"unit": '"kg"'}, "unit", "unit_mismatch", "does not fit deck_thickness"),
        ({"unit": '"furlong"'}, "unit", "unit_mismatch", "given in mm"),
        ({"unit": '"share"'}, "unit", "unit_mismatch", "the unit of its threshold"),
        ({"margin": '"2 mm"'}, "margin", "wrong_type", "a number, not a text"),
        ({"margin": "true"}, "margin", "wrong_type", "a number, not true or false"),
        ({"margin": "nan"}, "margin", "not_finite", "a number between"),
        ({"margin": "inf"}, "margin", "not_finite", "a number between"),
        ({"direction": '"same"'}, "margin", "margin_needed", "needs a margin"),
        ({"direction": '"same"', "margin": "0"}, "margin", "bad_margin", "above 0"),
        ({"direction": '"same"', "margin": "-1"}, "margin", "bad_margin", "above 0"),
        ({"direction": '"different"', "margin": "-1"}, "margin", "bad_margin", "0 or more"),
        ({"figure": '"share_below"'}, "threshold", "threshold_needed", "needs its threshold"),
        ({"threshold": "3.0"}, "threshold", "threshold_misplaced", "has no threshold"),
    ],
)
def test_each_fault_is_named_at_its_key(load, changes, key, code, says):
    ledger = load(entry(**changes))
    (fault,) = ledger.faults
    assert (fault.file, fault.row, fault.column, fault.code) == (
        "claims.toml",
        None,
        f"claim[1].{key}",
        code,
    )
    assert says in fault.sentence
    assert isinstance(ledger.entries[0], FaultyClaim)


def test_all_faults_of_all_claims_come_at_once(load):
    text = entry(margin='"x"', unit='"kg"') + entry() + entry(id='"walls"', scope='"x"')
    columns = [fault.column for fault in load(text).faults]
    assert columns == ["claim[1].unit", "claim[1].margin", "claim[2].id", "claim[3].scope"]


def test_an_id_used_twice_is_a_fault_of_the_second(load):
    ledger = load(entry() + entry())
    assert ledger.faults[0].code == "duplicate_id"
    assert isinstance(ledger.entries[0], Claim)
    assert ledger.ids == ("deck", "claim-2")


def test_a_claim_without_a_usable_id_is_listed_by_its_place(load):
    ledger = load(entry(id='"claim-2"') + entry(id='"a/b"'))
    assert ledger.ids == ("claim-2", "claim-2-")


def test_without_the_readings_no_family_is_unknown(load):
    assert load(entry(candidate='"anything"'), families=None).faults == ()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no_claims"),
        ("claim = []", "no_claims"),
        ("claim = 3", "wrong_type"),
        ("[claim]\nid = 'x'", "wrong_type"),
        ("claim = [1, 2]", "wrong_type"),
        ("id = ", "not_toml"),
        ("a = " + "[" * 20_000, "not_toml"),
        (b"\xff\xfe\x00[", "not_text"),
        (b"PK\x03\x04\x00\x00", "not_toml"),
        ("#" * 5_000_000, "unreadable"),
    ],
)
def test_a_file_that_holds_no_claims_has_one_fault(load, text, code):
    ledger = load(text)
    assert [fault.code for fault in ledger.faults] == [code]
    assert ledger.entries == ()


def test_further_tables_are_faults_and_the_claims_are_kept(load):
    ledger = load("title = 'x'\n" + entry())
    assert [fault.code for fault in ledger.faults] == ["unknown_key"]
    assert len(ledger.claims) == 1


def test_too_many_claims_are_refused_as_one_fault(load):
    ledger = load("[[claim]]\n" * (MOST_CLAIMS + 1))
    assert [fault.code for fault in ledger.faults] == ["too_many_claims"]


def test_a_missing_file_is_a_fault(tmp_path):
    ledger = load_ledger(tmp_path / "claims.toml", SETTINGS)
    assert [fault.code for fault in ledger.faults] == ["no_claims"]


def test_a_silent_ledger_is_one_without_a_claim_and_without_another_fault(load, tmp_path):
    assert load_ledger(tmp_path / "nowhere" / "claims.toml", SETTINGS).silent
    assert load("").silent
    for text in ("id = ", "title = 'x'", entry(), entry(margin='"x"')):
        assert not load(text).silent


def test_windows_line_ends_and_a_byte_order_mark_are_read(load):
    assert load(b"\xef\xbb\xbf" + entry().replace("\n", "\r\n").encode()).faults == ()


def test_line_ends_and_runs_of_spaces_in_a_text_become_single_spaces(load):
    text = entry(statement="'''The deck\n   is thicker. '''")
    assert load(text).claims[0].statement == "The deck is thicker."


def test_html_in_a_text_is_kept_as_it_is_written(load):
    claim = load(entry(statement="'<script>alert(1)</script>'")).claims[0]
    assert claim.statement == "<script>alert(1)</script>"
