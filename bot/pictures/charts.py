"""Charts of one household's facts: weight, temperature, hatching, laying."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.pictures.look import ACCENT, DASHES, INK, LINE, SERIES, chart_axes, save, sheet
from bot.wording import GRAMS_PER_OUNCE, day, say, words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from scheduler.colony import ClimateReading, Colony

SIZE = (7.2, 4.5)  # inches
MOST_PLACES = len(SERIES)
RECENT = timedelta(days=120)  # of temperatures; longer than an incubation, and still readable


def draw_chart(
    of: str,
    colony: Colony,
    about: str | None,
    today: date,
    file: Path,
    *,
    temperature: str = "C",
    weight: str = "g",
) -> Path | None:
    """Draw a chart of weight, temperature, hatching or laying into a file named .png or .svg.

    `about` is a tag or a place; None is the whole book. `temperature` ("C", "F") and `weight`
    ("g", "oz") are the reader's units. None where there is nothing to show; KeyError for another
    kind of chart.
    """
    figure = sheet(*SIZE)
    title = say(f"chart.{of}", about=about or say("chart.book"))
    units = {"temperature": temperature, "weight": weight}
    if not DRAW[of](figure, title, colony, about, today, units.get(of, "")):
        return None
    return save(figure, file)


def _weight(
    figure: Figure, title: str, colony: Colony, about: str | None, today: date, unit: str
) -> bool:
    rows = sorted((w.on, w.grams) for w in colony.weights if w.tag == about)
    if not rows:
        return False
    per = GRAMS_PER_OUNCE if unit == "oz" else 1.0
    axes = chart_axes(figure, title, say("picture.ounces" if unit == "oz" else "picture.grams"))
    days, values = [on for on, _ in rows], [grams / per for _, grams in rows]
    _line(axes, days, values, LINE, "-")
    last = f"{values[-1]:.2f}" if unit == "oz" else f"{values[-1]:.1f}"
    axes.annotate(
        last, (days[-1], values[-1]), textcoords="offset points", xytext=(0, 10),
        ha="center", color=INK, fontsize=11,
    )  # fmt: skip
    _clutch_marks(axes, [c.laid for c in colony.clutches if c.dam == about], days)
    _room(axes, values, least=1.0 / per)
    _days(axes, days, today)
    return True


def _clutch_marks(axes: Axes, laid: Iterable[date], days: Sequence[date]) -> None:
    """A mark below at each clutch: a female is lighter after it, and that is no illness."""
    within: list[Any] = sorted({each for each in laid if days[0] <= each <= days[-1]})
    if not within:
        return
    axes.plot(
        within, [0.02] * len(within), color=ACCENT, marker="^", linestyle="", markersize=7,
        transform=axes.get_xaxis_transform(), label=say("picture.clutch"),
    )  # fmt: skip
    _legend(axes)


def _temperature(
    figure: Figure, title: str, colony: Colony, about: str | None, today: date, unit: str
) -> bool:
    places = _recent_by_place(colony, about)
    if not places:
        return False
    name = say("picture.fahrenheit" if unit == "F" else "picture.celsius")
    axes = chart_axes(figure, title, name)
    latest = sorted(places, key=lambda place: places[place][-1].at, reverse=True)[:MOST_PLACES]
    shown = [place for place in places if place in latest]
    moments, values = [], []
    for number, place in enumerate(shown):
        at = [each.at.astimezone(colony.zone).replace(tzinfo=None) for each in places[place]]
        found = [_in_unit(each.celsius or 0.0, unit) for each in places[place]]
        _line(axes, at, found, SERIES[number], DASHES[number], place)
        moments += at
        values += found
    if len(shown) > 1:
        _legend(axes)
    _room(axes, values, least=1.0)
    _days(axes, moments, today)
    return True


def _recent_by_place(colony: Colony, about: str | None) -> dict[str, list[ClimateReading]]:
    """The readings of the last weeks in which there were any, in order, by place."""
    found = sorted(
        (r for r in colony.readings if r.celsius is not None and about in (None, r.place)),
        key=lambda reading: reading.at,
    )
    places: dict[str, list[ClimateReading]] = {}
    for each in found:
        if each.at >= found[-1].at - RECENT:
            places.setdefault(each.place, []).append(each)
    return places


def _in_unit(celsius: float, unit: str) -> float:
    return celsius * 9 / 5 + 32 if unit == "F" else celsius


def _hatching(
    figure: Figure, title: str, colony: Colony, about: str | None, today: date, unit: str
) -> bool:
    ended = [
        (egg.ended.year, egg.ended.month)
        for egg in colony.eggs
        if egg.end == "hatched" and egg.ended and about in (None, egg.dam, *egg.sires)
    ]
    if not ended:
        return False
    axes = chart_axes(figure, title, say("picture.hatched"))
    _months(axes, [("", LINE, Counter(ended))])
    return True


def _laying(
    figure: Figure, title: str, colony: Colony, about: str | None, today: date, unit: str
) -> bool:
    good: Counter[tuple[int, int]] = Counter()
    spoiled: Counter[tuple[int, int]] = Counter()
    for clutch in colony.clutches:
        if about in (None, clutch.dam):
            month = (clutch.laid.year, clutch.laid.month)
            good[month] += clutch.eggs - clutch.spoiled
            spoiled[month] += clutch.spoiled
    if not good.total() + spoiled.total():
        return False
    axes = chart_axes(figure, title, say("picture.laid"))
    bars = [(say("picture.incubated"), LINE, good), (say("picture.spoiled"), ACCENT, spoiled)]
    _months(axes, bars if spoiled.total() else bars[:1])
    return True


DRAW: dict[str, Callable[[Figure, str, Colony, str | None, date, str], bool]] = {
    "weight": _weight, "temperature": _temperature, "hatching": _hatching, "laying": _laying,
}  # fmt: skip


# --- strokes --------------------------------------------------------------------------------


def _line(
    axes: Axes, at: Sequence[Any], values: Sequence[float], colour: str, dashes: Any,
    label: str | None = None,
) -> None:  # fmt: skip
    axes.plot(
        at, values, color=colour, linestyle=dashes, linewidth=2 if len(values) <= 60 else 1.3,
        marker="o", markersize=5 if len(values) <= 60 else 0, label=label,
    )  # fmt: skip


def _room(axes: Axes, values: Sequence[float], *, least: float) -> None:
    """Some room above and below, so that a change of nothing does not look like a change."""
    low, high = min(values), max(values)
    margin = max((high - low) * 0.15, least)
    axes.set_ylim(low - margin, high + margin)


def _legend(axes: Axes) -> None:
    """Below the chart, where it covers nothing."""
    figure = axes.get_figure(root=True)
    assert figure is not None
    figure.legend(frameon=False, fontsize=11, labelcolor=INK, loc="outside lower left", ncols=3)


def _days(axes: Axes, at: Sequence[date | datetime], today: date) -> None:
    """Few day labels in our own words ("14 May"); one day alone gets room on both sides."""
    from matplotlib.dates import AutoDateLocator, num2date

    first, last = min(at), max(at)
    if last - first < timedelta(days=6):
        middle = first + (last - first) / 2
        axes.set_xlim(middle - timedelta(days=4), middle + timedelta(days=4))  # type: ignore[arg-type]
    axes.xaxis.set_major_locator(AutoDateLocator(minticks=3, maxticks=7))  # type: ignore[no-untyped-call]
    axes.xaxis.set_major_formatter(
        lambda place, _: day(num2date(place).date(), today)  # type: ignore[no-untyped-call]
    )


def _months(axes: Axes, bars: Sequence[tuple[str, str, Counter[tuple[int, int]]]]) -> None:
    """Stacked bars, one for each month from the first to the last, empty ones too."""
    from matplotlib.ticker import MaxNLocator

    found = sorted({month for _, _, counts in bars for month in counts})
    months = _run(found[0], found[-1])
    ground = [0] * len(months)
    for label, colour, counts in bars:
        heights = [counts[month] for month in months]
        axes.bar(range(len(months)), heights, bottom=ground, color=colour, width=0.7, label=label)
        ground = [low + high for low, high in zip(ground, heights, strict=True)]
    for place, total in enumerate(ground):
        if total and len(months) <= 24:
            axes.annotate(
                str(total), (place, total), textcoords="offset points", xytext=(0, 3),
                ha="center", color=INK, fontsize=11,
            )  # fmt: skip
    axes.set_ylim(0, max(ground) * 1.15)
    axes.set_xlim(min(-0.6, len(months) / 2 - 3), max(len(months) - 0.4, len(months) / 2 + 2))
    axes.yaxis.set_major_locator(MaxNLocator(integer=True, nbins=6))
    _month_ticks(axes, months)
    if len(bars) > 1:
        _legend(axes)


def _run(first: tuple[int, int], last: tuple[int, int]) -> list[tuple[int, int]]:
    """Every (year, month) from the first to the last."""
    span = range(first[0] * 12 + first[1] - 1, last[0] * 12 + last[1])
    return [(each // 12, each % 12 + 1) for each in span]


def _month_ticks(axes: Axes, months: Sequence[tuple[int, int]]) -> None:
    """At most about a dozen names; the year under the first month named of each year."""
    step = -(-len(months) // 12)
    names, year = [], None
    for month in months[::step]:
        name = words()["months"][month[1] - 1]
        names.append(name if month[0] == year else f"{name}\n{month[0]}")
        year = month[0]
    axes.set_xticks(range(0, len(months), step), names)
