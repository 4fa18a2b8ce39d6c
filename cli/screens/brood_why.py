"""``livefood need --brood --why``: the numbers behind a brood's need, line by line."""

from __future__ import annotations

from datetime import datetime

from cli.screens.need import amount_text
from cli.screens.text import wrapped
from cli.screens.us_units import in_us_unit, length_text
from cultures.foods.parameters import sources
from cultures.fry.bioenergetics import full_food, kept_share
from cultures.fry.feeding import energy_per_day_j, feeding_values, takable, worth_taking
from cultures.needs.food_units import natural_amount
from cultures.needs.meals import hunger_words
from cultures.needs.need import BroodCourse, BroodNeed, Round
from cultures.words.moments import clock_text, day_text
from cultures.words.quantities import celsius, food_name, in_units, number, plain
from cultures.words.units import INCH_MM


def why(course: BroodCourse, feeding: Round) -> str:
    """The need of a brood at a round at which it eats, line by line, as the plan reckons it."""
    need, units = course.times(course.meal(feeding), feeding), course.room.units
    day = day_text(feeding.at, units)
    head = f"{course.brood.name} at {clock_text(feeding.at, units)} on {day}"
    steps = [
        ("age", _why_age(course)),
        ("growth", _why_growth(course, feeding)),
        *_why_hungry(course, feeding),
        ("length", _why_length(course, feeding, need)),
        ("weight", _why_weight(course, need)),
        ("ration", _why_ration(course, need)),
        *_why_more(course, feeding, need),
        ("fry", _why_count(course, feeding.at, need)),
        ("need", _why_need(feeding, need)),
        ("mouth", _why_mouth(course, need)),
        *_why_foods(course, need),
    ]
    lines = [f"{head}, tank {course.brood.tank}, {course.fry_class.label}", ""]
    lines += [wrapped(text, 14, label) for label, text in steps]
    lines += ["", "Where the numbers come from (status, range, sources):"]
    return "\n".join([*lines, *_origins(course)])


def _why_age(course: BroodCourse) -> str:
    brood, units = course.brood, course.room.units
    if brood.anchor == "length":
        reckoned_mm = brood.length_mm or 0.0
        noted_mm = reckoned_mm if brood.measured_mm is None else brood.measured_mm
        noted, reckoned = (length_text(mm, units, ".3g") for mm in (noted_mm, reckoned_mm))
        as_what = f", reckoned as {reckoned} beside the curve" if noted != reckoned else ""
        on = day_text(brood.anchor_date, units)
        return f"measured on {on}: {noted}{as_what}; age does not count"
    known = f"{brood.anchor.replace('_', ' ')} on {day_text(brood.anchor_date, units)}"
    return f"{known}, first food on {day_text(course.first_food_day(), units)}"


def _why_growth(course: BroodCourse, feeding: Round) -> str:
    v = course.fry_class.values
    days = course.growth_days(feeding.at_h)
    lag = course.brood.fed.lag_days
    began = course.grown_from + lag
    before = f" + {began:.1f} before" if began else ""
    before += f" - {lag:.1f} for want of food" if lag >= 0.05 else ""
    step = " for 18 °F" if course.room.units == "us" else ""
    return (
        f"{_why_stages(course, feeding)} (Q10 {v['growth_q10']:g}{step}){before} ="
        f" {round(days, 1) + 0.0:.1f} growth days"
    )


def _why_stages(course: BroodCourse, feeding: Round) -> str:
    """The days at each temperature that it grew at, and how fast growth runs there."""
    units, fry = course.room.units, course.fry_class
    lived = course.days_by_degrees(feeding.at_h)
    stages = [(degrees, days) for degrees, days in lived.items() if days >= 0.05]
    (degrees, days), *later = stages or [(course.temperature_c, 0.0)]
    reference = celsius(fry.values["t_ref_c"], units)
    text = (
        f"{days:.1f} days at {celsius(degrees, units)}, which runs at {fry.growth(degrees):.2f}"
        f" of {reference}"
    )
    for degrees, days in later:
        text += f", and {days:.1f} days at {celsius(degrees, units)}, at {fry.growth(degrees):.2f}"
    return text


def _why_hungry(course: BroodCourse, feeding: Round) -> list[tuple[str, str]]:
    words = in_units(hunger_words(course, feeding.at_h), course.room.units)
    return [("food", words)] if words else []


def _why_length(course: BroodCourse, feeding: Round, need: BroodNeed) -> str:
    v = course.fry_class.values
    start, limit = v["length_first_food_mm"], v["length_limit_mm"]
    first, last, length = f"{start:g}", f"{limit:g}", f"{need.length_mm:.2f} mm"
    if course.room.units == "us":
        first, last = plain(start / INCH_MM), plain(limit / INCH_MM)
        length = f"{need.length_mm / INCH_MM:.3f} in"
    return (
        f"{first} x ({last} / {first})^(1 - exp(-{v['growth_rate_per_day']:g} x"
        f" {course.growth_days(feeding.at_h):.1f})) = {length}"
    )


def _why_weight(course: BroodCourse, need: BroodNeed) -> str:
    v = course.fry_class.values
    weight = course.fry_class.weight_mg(need.length_mm)
    a, b = v["weight_a_mg"], v["weight_b"]
    if course.room.units == "us":
        per_inch = plain(in_us_unit(a, "mg/mm^b", b)[0])
        return f"{per_inch} x {need.length_mm / INCH_MM:.3f}^{b:g} = {number(weight)} mg"
    return f"{a:g} x {need.length_mm:.2f}^{b:g} = {number(weight)} mg"


def _why_ration(course: BroodCourse, need: BroodNeed) -> str:
    laws = feeding_values()
    weight = course.fry_class.weight_mg(need.length_mm)
    free = laws["ration_at_1mg"] * weight ** laws["ration_exponent"]
    level = min(laws["ration_cap"], free)
    degrees = min(max(course.temperature_c, laws["ration_low_c"]), laws["ration_high_c"])
    warm = laws["ration_q10"] ** ((degrees - laws["ration_ref_c"]) / 10.0)
    capped = f", held to {level:.0%}" if free > level else ""
    offered = laws["offered_share"]
    more = f" x {offered:g} offered" if offered != 1 else ""
    energy = weight * level * warm * laws["live_food_j_per_mg"] * offered
    at_one, mass, worth = laws["ration_at_1mg"], number(weight), laws["live_food_j_per_mg"]
    share, joules = f"{at_one:.0%}", f"{worth:g} J/mg"
    units = course.room.units
    return (
        f"{share} x {mass}^{laws['ration_exponent']:g} ="
        f" {free:.0%} of its weight a day{capped}, x {warm:.2f} for {celsius(degrees, units)},"
        f" x {joules}{more} = {number(energy)} J a fry a day"
    )


def _why_more(course: BroodCourse, feeding: Round, need: BroodNeed) -> list[tuple[str, str]]:
    """Where the brood's own growth costs more than the ration, what it costs."""
    fry, degrees = course.fry_class, course.temperature_c
    each = course.meal(feeding).per_day_j
    if each <= energy_per_day_j(fry.weight_mg(need.length_mm), degrees):
        return []
    full = full_food(fry, fry.growth_days(need.length_mm), degrees, 1.0)
    text = (
        f"its growth costs more than that: ({number(full.grown_j)} J grown +"
        f" {number(full.upkeep_j)} J burnt) / {kept_share():.2f} kept of what is eaten ="
        f" {number(each)} J a fry a day"
    )
    return [("eaten", text)]


def _why_count(course: BroodCourse, at: datetime, need: BroodNeed) -> str:
    brood = course.brood
    days = max(0, (at.date() - brood.counted_on).days)
    return (
        f"{brood.count:g} on {day_text(brood.counted_on, course.room.units)}"
        f" x {brood.survival_per_day:g}^{days} = {need.count:.1f} alive"
    )


def _why_need(feeding: Round, need: BroodNeed) -> str:
    each = need.energy_j * feeding.per_day / need.count
    return (
        f"{need.count:.1f} x {number(each)} J over {feeding.per_day} rounds"
        f" = {number(need.energy_j)} J at this round"
    )


def _why_mouth(course: BroodCourse, need: BroodNeed) -> str:
    share = course.fry_class.values["gape_share"]
    gape = course.fry_class.gape_um(need.length_mm)
    return f"opens {share:.1%} of the length = {gape:.0f} µm (an estimate)"


def _why_foods(course: BroodCourse, need: BroodNeed) -> list[tuple[str, str]]:
    fry, laws = course.fry_class, feeding_values()
    gape, weight = fry.gape_um(need.length_mm), fry.weight_mg(need.length_mm)
    lines = []
    for food in course.foods:
        if food.width_um > 0:
            fits, worth = takable(food.width_um, gape), worth_taking(food.mass_mg, weight)
            text = (
                f"{food.width_um:g} µm is {food.width_um / gape:.0%} of the gape: {fits:.0%} take"
                f" it; large enough to {worth:.0%}"
            )
        else:
            text = (
                f"half have learnt it at {length_text(fry.values['wean_mm'], course.room.units)}"
                f" (spread {laws['wean_width']:g})"
            )
        given = "not in the diet"
        if food.name in need.foods:
            energy = need.foods[food.name]
            amount = amount_text(natural_amount(course.room, food.name, energy), course.room.units)
            given = f"{energy / need.energy_j:.0%} = {number(energy)} J = {amount}"
        lines.append((food_name(food.name), f"{text}; liked x {food.preference:g} -> {given}"))
    if not need.foods:
        lines.append(("", "no food kept here fits this mouth"))
    return lines


def _origins(course: BroodCourse) -> list[str]:
    names = (
        "first_food_days", "growth_rate_per_day", "length_limit_mm", "weight_a_mg", "gape_share",
    )  # fmt: skip
    parameters = course.fry_class.parameters
    used: list[str] = []
    lines = []
    for name in names:
        p = parameters[name]
        used += [source for source in p.sources if source not in used]
        span = f"{p.low:g} to {p.high:g} {p.unit}"
        if course.room.units == "us":
            b = course.fry_class.values["weight_b"]
            (low, unit), (high, _) = (in_us_unit(x, p.unit, b) for x in (p.low, p.high))
            span = f"{plain(low)} to {plain(high)} {unit}"
        origin = f"{p.status}, {span}; {', '.join(p.sources)}"
        if course.fry_class.of and name not in course.fry_class.own:
            origin += f"; from its class, {course.fry_class.of}"
        lines.append(wrapped(origin, 25, f"  {name}"))
    listed = sources()
    return [*lines, *(wrapped(listed[s], 25, f"  {s}") for s in used if s in listed)]
