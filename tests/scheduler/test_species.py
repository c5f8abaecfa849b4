"""What is known of each species: figures with their source, and honest gaps."""

from statistics import median

import pytest

from scheduler.species import STATUSES, SpeciesError, general, keys, load

OWN_FILE = """
key = "example"
name = "Genus species"
colour = "a key we do not know"
[incubation]
durations = [
  { celsius = 24.0, days = 86.0, n = 14, source = "Author 1985", status = "published" },
  { celsius = 28.0, days = 57.0, sand = true },
]
"""


@pytest.fixture
def own_file(tmp_path):
    path = tmp_path / "example.toml"
    path.write_text(OWN_FILE)
    return path


@pytest.mark.parametrize("key", [*keys(), "general"])
def test_every_number_says_where_it_comes_from(key):
    """Each figure and duration has a known status, and a source unless nothing was found."""
    species = load(key)
    rows = [row for rows in species.figures.values() for row in rows]
    for row in rows:
        assert row.status in STATUSES
        assert row.source or row.status == "not found"
        assert row.found or row.status == "not found"
    for row in species.durations:
        assert row.status in STATUSES
        assert row.source


def test_the_fullest_row_is_used_and_the_others_kept():
    """Of picta's two clutch intervals the practical range is used; the published low stays."""
    picta = load("picta")
    used = picta.figure("clutch_interval_days")
    assert (used.low, used.typical, used.high) == (14, 21, 30)
    assert used.status == "common practice"
    assert 7 in [row.low for row in picta.rows("clutch_interval_days")]


def test_an_equally_full_row_that_is_published_comes_first(tmp_path):
    """Among rows that give as much, the better seen one is used wherever it stands."""
    path = tmp_path / "two.toml"
    path.write_text(
        '[figures]\nclutch_size = [{ typical = 1, status = "memory", source = "memory" }, '
        '{ typical = 2, status = "published", source = "Author 1985" }]\n'
    )
    assert load(str(path)).figure("clutch_size").typical == 2


def test_a_gap_stays_a_gap():
    """A weight that no source gives comes back empty, with status not found."""
    gap = load("picta").figure("first_pairing_weight_g")
    assert (gap.low, gap.typical, gap.high) == (None, None, None)
    assert gap.status == "not found"
    assert not load("picta").has("first_pairing_weight_g")


def test_what_a_file_leaves_out_falls_back_and_says_so(own_file):
    """A keeper's file with incubation only uses general gecko values for the rest."""
    figure = load(str(own_file)).figure("clutch_interval_days")
    assert figure.typical == general().figure("clutch_interval_days").typical
    assert figure.note.startswith("general gecko value")


def test_unknown_keys_of_a_file_are_let_be(own_file):
    """A keeper's extra notes in the file do no harm."""
    species = load(str(own_file))
    assert [row.days for row in species.durations] == [86.0, 57.0]
    assert species.durations[1].n is None


def test_a_parameter_nobody_knows_is_an_error():
    """Asking for a figure that is in no file raises KeyError rather than guessing."""
    with pytest.raises(KeyError):
        load("picta").figure("wing_span_mm")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("key = ", "not valid TOML"),
        ('[incubation]\ndurations = [{ celsius = "warm", days = 60 }]', "row 1: celsius"),
        ("[incubation]\ndurations = [{ celsius = 27.0 }]", "row 1: days is missing"),
        ("[incubation]\ndurations = [{ celsius = 81.0, days = 60 }]", "between 0 and 50"),
        ("[incubation]\ndurations = 60", "list of rows"),
        ("[figures]\nclutch_size = [{ low = 3, high = 1 }]", "figures.clutch_size"),
    ],
)
def test_a_file_that_does_not_fit_is_named_with_the_reason(tmp_path, text, says):
    """The error names the file, the row and what was expected."""
    path = tmp_path / "mine.toml"
    path.write_text(text)
    with pytest.raises(SpeciesError, match=r"^mine\.toml: ") as error:
        load(str(path))
    assert says in str(error.value)


def test_a_changed_file_is_read_again(own_file):
    """A keeper who corrects the file gets the corrected figures."""
    assert load(str(own_file)).durations[0].days == 86.0
    own_file.write_text(OWN_FILE.replace("days = 86.0", "days = 8.6e1 ").replace("57.0", "58.25"))
    assert load(str(own_file)).durations[1].days == 58.25


def test_an_unknown_species_lists_the_known_ones():
    """A key that is neither built in nor a file says what could be given."""
    with pytest.raises(SpeciesError, match="picta, leopard, crested"):
        load("no-such-gecko")


def test_general_values_are_our_species_taken_together():
    """The general file is the lowest low, median typical and highest high of the five."""
    species = [load(key) for key in keys()]
    for parameter in general().figures:
        rows = [each.figure(parameter) for each in species if each.has(parameter)]
        used = general().figure(parameter)
        typical = [row.typical for row in rows if row.typical is not None]
        assert used.low == min(row.low for row in rows if row.low is not None)
        assert used.high == max(row.high for row in rows if row.high is not None)
        assert used.typical == (median(typical) if typical else None)
