"""What tenants say plainly: told as it stands, whatever else of the text is weighed.

The sentences and what they mean are our own (common practice, no source).
"""

from __future__ import annotations

import pytest

from rules.model import Care, EmitterHeat, Intent, Kind, Rooms, Temperature, TopicId
from rules.reading import danger_in, read

COLD, HOT, WATER, LEAK = Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER, Kind.LEAK
NOISE, OTHER = Kind.NOISE, Kind.OTHER


@pytest.mark.parametrize(
    "text",
    [
        "first time heat is on since spring and the radiator smells burnt",
        "turned the heater on for the season, smells like burning dust, no flames",
        "la calefaccion huele a polvo quemado, es el primer dia que la prenden",
        "heater smells singed, first cold night of the year. nothing else",
    ],
)
def test_dust_at_the_first_heat_is_no_danger(text: str) -> None:
    """Odd smells when heat first comes on are told of, and frighten nobody."""
    assert danger_in(text) == ()
    assert read(text).kinds == (OTHER,)


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        (
            "first time heat is on since spring, smells burnt and smoke comes from the radiator",
            "fire",
        ),
        ("turned the heater on for the season and it threw sparks, smells burnt", "electrical"),
        ("heater on for the first time, smells like burning wires", "electrical"),
        ("first heat of the season, burnt smell and we all have headaches", "co"),
        ("the burning smell comes out of the wall, first time this year near the heater", "fire"),
        ("burning smell from the radiator since noon", "fire"),
    ],
)
def test_more_than_dust_is_danger_at_the_first_heat_too(text: str, danger: str) -> None:
    """Smoke, sparks, wires, ill people, a wall: no first day of heat explains these."""
    assert danger in danger_in(text)


@pytest.mark.parametrize(
    "text",
    [
        "theres a buzz in my wall even on a warm day",
        "buzz in the wall all day even when its hot outside",
        "we got hot water back, all good here",
        "thermostat is off and the baseboards are still burning hot",
        "the fuse blew when i plugged in the iron",
        "pipe is leaking but its not near any outlet",
        "I switched the heat on and it never came",
    ],
)
def test_words_of_danger_that_mean_something_else(text: str) -> None:
    """Warm weather, water that is back, heat that burns, a fuse that did its work."""
    assert danger_in(text) == ()


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        (
            "kitchen radiator is dripping, living room cold, and the hot water dies quickly",
            {LEAK, COLD, WATER},
        ),
        (
            "4 issues: cold bathroom, leak under the tub, roaches, no hot water",
            {COLD, LEAK, OTHER, WATER},
        ),
        ("1. no heat 2. the sink is leaking 3. mice", {COLD, LEAK, OTHER}),
        ("cold bedroom + leak + mice", {COLD, LEAK, OTHER}),
        (
            "the toilet is leaking and the hot water is way too hot, bedroom cold",
            {LEAK, OTHER, COLD},
        ),
        ("dos cosas: gotea el radiador y el cuarto helado", {LEAK, COLD}),
        ("heat and hot water both out", {COLD, WATER}),
        ("pipes gurgle and the heat is a tad weaker than before", {NOISE, COLD}),
        ("the pipes are banging and the bedroom is cold", {NOISE, COLD}),
    ],
)
def test_of_a_list_nothing_is_dropped(text: str, kinds: set[Kind]) -> None:
    """Each item is a trouble of its own."""
    assert set(read(text).kinds) == kinds


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("hot water ok, heat out", {COLD}),
        ("heat is fine but no hot water", {WATER}),
        ("hay calor en la cocina pero no en el cuarto", {COLD}),
        ("front room heat works, back room nothing", {COLD}),
        ("pipes hum all day even when nobody has the heat on", {NOISE}),
        ("nobody on my floor has heat", {COLD}),
        ("the heat works but not enough", {COLD}),
        ("heat works but bedroom is cold", {COLD}),
    ],
)
def test_what_is_fine_is_no_trouble(text: str, kinds: set[Kind]) -> None:
    """Of one that works and one that does not, one is told."""
    assert set(read(text).kinds) == kinds


@pytest.mark.parametrize(
    "text",
    [
        "its either 81 or 63 in here",
        "goes from 61 to 84 and back every day",
        "one hour its 83 the next its 61",
        "a ratos 83 a ratos 59",
        "o esta a 84 o esta a 61",
        "sometimes 80 sometimes 61",
        "my room bounces between 60 and 81",
    ],
)
def test_now_too_hot_and_now_too_cold_is_both(text: str) -> None:
    """Neither is the temperature of the room."""
    reading = read(text)
    assert set(reading.kinds) == {COLD, HOT}
    assert reading.room_temp is None


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("apartment at 83, heat wont stop. windows open and its 19 outside", {HOT}),
        ("opened every window, its 25 out and still 81", {HOT}),
        ("my unit is like 84", {HOT}),
        ("radiator is off but still 86 degrees", {HOT}),
        ("adentro 59 y afuera 80", {COLD}),
    ],
)
def test_a_reading_far_from_usual_rules_the_opposite_out(text: str, kinds: set[Kind]) -> None:
    """What it is outdoors makes no home cold that is hot."""
    assert set(read(text).kinds) == kinds


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("thermostat went blank and its 61 in here", {COLD}),
        ("no numbers on the thermostat, apartment is cold", {COLD}),
        ("pantalla en blanco en el termostato y hace mucho frio", {COLD}),
        ("the display is blank", {OTHER}),
    ],
)
def test_a_blank_screen_is_a_trouble_of_its_own_only_alone(text: str, kinds: set[Kind]) -> None:
    """Beside a cold home it is a fact about the cold."""
    assert set(read(text).kinds) == kinds
    assert read(text).thermostat_blank is True


@pytest.mark.parametrize(
    ("text", "rooms"),
    [
        ("the apartment is 58", Rooms.ALL),
        ("our house is at 57 and dropping", Rooms.ALL),
        ("my apt is freezing", Rooms.ALL),
        ("hace un calor terrible en mi casa", Rooms.ALL),
        ("82 degrees in my apartment", Rooms.ALL),
        ("el apartamento esta a 58 grados", Rooms.ALL),
        ("no heat in apartment 3B", None),
        ("i came home to 55", None),
        ("my neighbor's apartment is 75, mine is cold", None),
        ("the whole building is cold", None),
    ],
)
def test_a_cold_home_is_all_of_it(text: str, rooms: Rooms | None) -> None:
    """Where the home itself is said to be cold, hot or so many degrees."""
    assert read(text).rooms is rooms


def _f(value: float | None) -> Temperature | None:
    return None if value is None else Temperature(value, "F")


@pytest.mark.parametrize(
    ("text", "room", "setpoint"),
    [
        ("turned it up to 74 two hours ago still 62", 62, 74),
        ("83 in here and the thermostat says 69", 83, 69),
        ("56 in here even though thermostat says 71", 56, 71),
        ("the house is 54, thermostat says 70 but nothing", 54, 70),
        ("room 62 thermostat 71", 62, 71),
        ("my thermometer says 58 but the thermostat says 69", 58, None),
        ("68 on the thermostat but my thermometer reads 61", 61, None),
        ("too hot, 83 and the thermostat is set to 83", 83, 83),
        ("57 not 67", 57, None),
        ("no es 57, no 67", 57, None),
        ("it never goes over 62", 62, None),
        ("it was 72 yesterday, came home to 56", 56, None),
        ("last night it got down to 51", None, None),
        ("temperature inside 57 outside 18", 57, None),
        ("were at 58 degrees", 58, None),
        ("thermostat set at 72 reading 64", 64, 72),
        ("72 is what its set at but its 61", 61, 72),
        ("i turned the thermostat down to 61 and still boiling", None, 61),
        ("bajo de 70 a 58 en la noche", 58, None),
        ("sin calor desde anoche, estamos a 58", 58, None),
        ("its 84 in my place", 84, None),
        ("81 y el aparato en 65", 81, 65),
    ],
)
def test_of_two_numbers_each_keeps_its_part(
    text: str, room: float | None, setpoint: float | None
) -> None:
    """The room as it is now, and what was set; what was, is denied or is outdoors is neither."""
    reading = read(text)
    assert (reading.room_temp, reading.setpoint) == (_f(room), _f(setpoint))


@pytest.mark.parametrize(
    "text",
    [
        "Good morning, I hope all is well. I wanted to let you know we are without heat. Thank you!",
        "Buenas tardes, disculpe la molestia, queria avisarle que no hay agua caliente, muchas gracias",
    ],
)
def test_courtesy_hides_no_complaint(text: str) -> None:
    """However a trouble is wrapped, it is one."""
    reading = read(text)
    assert reading.intent is Intent.COMPLAINT
    assert reading.kinds in ((COLD,), (WATER,))


@pytest.mark.parametrize(
    ("text", "care"),
    [
        ("son has asthma and its cold", {Care.CHILD, Care.MEDICAL}),
        ("it never goes over 66 in here", set()),
        ("wife is 6 months pregnant and no heat", {Care.PREGNANT}),
        (
            "no hay calefaccion, tengo una niña de 5 años y otra de 7 meses",
            {Care.CHILD, Care.INFANT},
        ),
    ],
)
def test_who_is_at_risk(text: str, care: set[Care]) -> None:
    """A child and a baby are two, months of pregnancy no age, degrees no years."""
    assert set(read(text).care) == care


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("co alarm beeps every 30 seconds, nobody is sick", False),
        ("the carbon monoxide detector chirps once a minute", False),
        ("it's not a chirp, the CO alarm is on full siren", True),
        ("co alarm chirps every minute and my wife is dizzy", True),
        ("bathroom ceiling is leaking and the tenant upstairs is not answering", False),
    ],
)
def test_a_low_battery_is_no_alarm(text: str, danger: bool) -> None:
    """A chirp now and then is one, unless people are ill or it is denied."""
    assert bool(danger_in(text)) is danger


@pytest.mark.parametrize(
    "text", ["si pero ahora hay mucho ruido", "yes but now it makes a banging noise"]
)
def test_a_new_noise_after_the_work_is_told_beside_the_answer(text: str) -> None:
    """What the work has brought is no part of "yes"."""
    assert read(text, TopicId("right_now")).kinds == (NOISE,)


@pytest.mark.parametrize(
    ("text", "emitter"),
    [
        ("the cord of the space heater gets real hot", None),
        ("el enchufe del calentador está caliente", None),
        ("the radiator in my room is ice cold", EmitterHeat.COLD),
    ],
)
def test_a_hot_cord_is_no_hot_radiator(text: str, emitter: EmitterHeat | None) -> None:
    """What is warm there is electrical."""
    assert read(text).emitter is emitter
