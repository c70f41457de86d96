"""Danger is found in whatever words it comes, and nowhere else."""

from __future__ import annotations

import pytest

from rules.model import Kind
from rules.reading import danger_in, read

# Dangers as standards of gas utilities, CO alarm makers and fire services describe them; the wording
# is ours.
_DANGERS = [
    "smells like rotten eggs in the kitchen",
    "I think i smell gas. not sure",
    "huele a huevo podrido en la cocina",
    "guele a gas aqui",
    "there's a weird smell maybe gas, not sure",
    "neighbor says she smells gas in the basement",
    "CO alarm is going off",
    "carbon monoxide detector beeping 4 times then stops",
    "co detector wont stop beeping",
    "la alarma de monoxido no para de sonar",
    "we all have headaches since the heat came on",
    "my wife and I feel dizzy",
    "todos estamos mareados y con dolor de cabeza",
    "the heater is smoking",
    "there is smoke coming from the boiler room",
    "sale humo del sotano",
    "radiator is on fire",
    "sparks came out of the thermostat",
    "it smells like burning plastic near the thermostat",
    "saltan chispas del enchufe",
    "me dio un toque el radiador",
    "water is dripping on the outlet",
    "gotea agua en el foco del baño",
    "leak from ceiling light fixture",
    "my son burned his hand on the radiator",
    "mi hija se quemó con el radiador",
    "steam filling the bedroom",
    "my moms lips are blue and she wont wake up",
    "mi bebe tiene los labios morados",
    "hissing sound by the gas meter",
    "white thing on the wall keeps beeping loud",
    "yesterday i smelled gas in the hallway nobody came",
    "the stove isnt on but i smell gass",
    "Escape de gas en el pasillo",
    "no para de sonar el detector de la cocina",
    "I got shocked touching the baseboard",
    "no heat, also it smells like gas",
    "FIRE!!!",
    "there is fire in the basement",
    "the whole room is full of steam",
    "el cuarto esta lleno de vapor",
    "my baby is shivering uncontrollably",
    "huele a cable quemado",
    "smoke detector going off and theres smoke",
    "I burned my arm on the pipe",
    "the alarm in my hallway keeps going off, 4 beeps then quiet",
    "i have a headache and so does my roommate, both of us nauseous",
    "smell of gas when i walk in, strong",
    "gas smell is gone now but it was strong an hour ago",
    "se siente un olor fuerte a gas en las escaleras",
    "hay un olor raro como a gas",
    "no estoy segura pero creo que huele a gas",
    "me huele a gas",
    "mi hermana y yo vomitando y con dolor de cabeza",
    "la alarma del monoxido se activo",
    "un aparato en la pared esta pitando muy fuerte y no se calla",
    "humo negro saliendo de la caldera",
    "hay fuego en el cuarto de la caldera",
    "se prendio fuego el enchufe",
    "olor a quemado del enchufe",
    "hizo corto el termostato y saco chispas",
    "el agua esta cayendo sobre la caja de breakers",
    "agua en la regleta de luz",
    "the outlet is wet from the leak",
    "water running down the wall onto the light switch",
    "leak is dripping through the light",
    "thermostat sparked when i touched it",
    "burning smell from the outlet",
    "smells like melting wires",
    "burnt electrical smell in my bedroom",
    "my husband got burned by steam from the valve",
    "scalded my foot in the tub",
    "boiling water shot out of the radiator and burned me",
    "steam everywhere cant see in the kitchen",
    "me quemé el brazo con vapor",
    "mi mama no despierta esta muy fria",
    "abuelo esta confundido y temblando mucho, no puede hablar bien",
    "grandpa is really cold, confused and his speech is slurred",
    "the baby's lips look blue",
    "the CO monitor is reading 80",
    "co alarm beeps 4 times, stops, then again",
    "Detector says CO 45ppm",
    "our carbon monixide alarm is going off",
    "i feel dizzy and nauseous when the heater is on, better outside",
    "everybody on my floor got headaches",
    "there is a smell of sulfur near the boiler",
    "it smells like gas but the super says its fine",
    "no heat and the hallway smells like propane",
    "flames coming out the bottom of the boiler",
    "burning smell and smoke",
    "strong odor of gas coming from the basement door",
    "my kitchen stinks of gas and the stove is off",
    "smells gassy in here",
    "the hallway smells like eggs",
    "there's a sour egg smell by the boiler",
    "i can smell the gas from the pipe outside my door",
    "gas odor!!",
    "huele como a gas de estufa",
    "apesta a gas todo el piso",
    "se siente olor a gas",
    "hay una fuga en el tubo de gas",
    "the detector won't shut up its been 10 minutes",
    "loud alarm from the co thing on the wall",
    "alarm on my carbon monoxide unit is screaming",
    "la alarma del detector de gas no deja de sonar",
    "CO alarm just started, should I open windows?",
    "both kids threw up and i have a splitting headache",
    "todos tenemos dolor de cabeza y nauseas",
    "me siento mareada y mi esposo también",
    "there are flames in the boiler",
    "smoke is filling the hall",
    "I see smoke from the outlet",
    "esta saliendo mucho humo de los tubos",
    "se prendió fuego en el sótano",
    "the boiler exploded",
    "thermostat is smoking",
    "wires are melting in the closet",
    "plug is burning hot and smells",
    "baseboard cover shocked my son",
    "me electrocuté con el radiador",
    "me da corriente cuando toco el zócalo",
    "tronó el enchufe y salieron chispas",
    "the leak got into the light switch and it's buzzing",
    "ceiling light is full of water",
    "water pouring out of the light fixture",
    "agua saliendo por el enchufe",
    "se mojaron los cables con la gotera",
    "esta cayendo agua en la caja de fusibles",
    "burned myself on the pipe, big blister",
    "my baby touched the radiator and got a burn",
    "hot steam blew in my face and burned me",
    "my daughter scalded her arm in the shower",
    "mi bebé se quemó la manita con el radiador",
    "i cant see, the bathroom is full of steam",
    "my dad is shaking really bad and talking nonsense, its 45 in here",
    "the baby is blue and cold",
    "my grandmother is not waking up",
    "mi abuelo esta morado del frio y no reacciona",
    "her hands are purple from cold",
    "no se despierta mi mamá",
]
# Look-alikes: negated, past and looked at, batteries, dust, figures of speech (common practice, no
# source).
_HARMLESS = [
    "no gas smell",
    "i dont smell any gas",
    "no huele a gas",
    "gas bill is too high",
    "gas stove works fine but no heat",
    "co detector chirps every minute",
    "detector pita cada minuto, creo que es la bateria",
    "its smoking hot in here",
    "my apartment is on fire its 90 degrees",
    "feels like im on fire",
    "dust smell when heat came on first time, no smoke",
    "you guys should be fired",
    "where is the fire escape",
    "i have a headache from the banging",
    "im sick and tired of this",
    "almost burned my son",
    "they fixed the gas leak last week, all good now",
    "neighbors cigarette smoke comes in my apartment",
    "breaker keeps tripping",
    "no water near any outlet",
    "lights went out and no hot water",
    "we are freezing, kids are getting sick from the cold",
    "its burning up in here",
    "me estoy quemando de calor",
    "static shock every time I touch the door",
    "using the oven for heat",
    "no alarm no smell nobody is dizzy",
    "the noise gives me a headache",
    "no hay agua caliente ni luz",
    "is the heat a fire hazard",
    "my alarm went off at 6 and it was freezing",
    "cant feel my toes",
    "hay fuga de agua en el baño",
    "hot water comes out of the tap too hot",
    "the pipe behind the wall is leaking",
    "agua en el piso de la sala",
    "I can see my breath in here",
    "radiator hissing steam a little",
    "burned dinner set off the smoke alarm, everything is ok",
    "my gas is off, they shut it for the bill",
    "the heat is gas right?",
    "smells musty when heat kicks on",
    "huele a polvo cuando prende la calefaccion",
    "light is on at the thermostat but no heat",
    "water pressure low, lights fine",
    "we are all cold",
    "todos tenemos frio",
    "my kids have a cold and cough",
    "estamos enfermos de gripe y no hay calefaccion",
    "the steam pipe is hot",
    "steam heat isnt working",
    "radiator makes steam noise",
    "no tengo luz en el pasillo",
    "the detector is beeping once every minute",
    "smoke alarm chirping low battery",
    "el detector de humo hace bip cada minuto",
    "i was shocked at how cold it is",
    "the bill is a shock",
    "fire the super",
    "the boiler is shot",
    "its boiling in here",
    "estoy hirviendo",
    "horno de gas no prende",
    "no electricity in kitchen outlet",
    "outlet in kitchen doesnt work",
    "the wire to the thermostat is loose",
    "plug for the radiator leaks",
    "light drip under the sink",
    "pilot light is out",
    "can you smell the garbage in the hallway",
    "the neighbors cooking smells bad",
    "olor a comida del vecino",
    "thermostat light keeps blinking",
    "my throat burns from the dry air",
    "hot enough to burn you",
    "the water is so hot it could burn a kid",
    "afraid the space heater will catch fire",
    "no one is sick here, just cold",
    "gas was checked yesterday and its fine",
    "i turned off the lights and the heat",
    "switch on the wall for heat doesnt work",
    "the heat switch is off",
    "gas guy came to read the meter",
    "heat is gas or electric?",
    "the gas is on but no heat",
    "alarm clock keeps beeping",
    "my detector chirps, think it needs batteries",
    "what should I do if the CO alarm goes off",
    "where is the co detector supposed to be",
    "my headache is back from all this banging",
    "i feel sick, i think its the flu",
    "we are so tired of being cold",
    "smoking is not allowed but my neighbor smokes in the hall",
    "smell of weed in the hallway",
    "smells like someone burned popcorn",
    "smells like dust burning off the radiator",
    "the heater smells hot when it first turns on",
    "its hot as fire in here",
    "esto parece un horno, me quemo de calor",
    "calor infernal",
    "estoy que ardo",
    "hace un calor que quema",
    "the radiator is so hot it could burn someone",
    "be careful, the pipe is hot",
    "no sparks no smoke just dead",
    "outlet in the bedroom has no power",
    "light in the hallway is out",
    "agua fria en la ducha y no hay luz en el pasillo",
    "water is off in the kitchen and the light bulb is out",
    "leak under sink, nothing electrical nearby",
    "goteo en la cocina lejos de los enchufes",
    "steam radiator, is it supposed to be this loud",
    "steam heat comes on at 5am",
    "the kettle is steaming",
    "my hands are freezing",
    "i'm freezing my butt off",
    "cant feel my fingers its so cold",
    "my baby wont sleep because of the noise",
    "mi niño no puede dormir por el frio",
    "my mom is old and cold",
    "im shivering under 3 blankets",
    "super wont respond to my texts",
    "nadie me responde",
    "breaker tripped again",
    "fuse blew and the heat went off",
    "ceiling leak over my bed",
    "water stain near the window",
    "can you turn off the light in the boiler room",
    "smoke detector needs to be installed",
    "need a new carbon monoxide detector",
    "fire inspection is tomorrow right?",
]


@pytest.mark.parametrize("text", _DANGERS)
def test_danger_is_found(text: str) -> None:
    """Every way of telling of a danger counts, roundabout ones and told by others."""
    assert danger_in(text)


@pytest.mark.parametrize("text", _HARMLESS)
def test_lookalikes_are_no_danger(text: str) -> None:
    """What only sounds like a danger starts no alarm."""
    assert danger_in(text) == ()


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("rotten egg smell in the hall", "gas"),
        ("there is a hiss near the gas meter", "gas"),
        ("CO alarm beeping 4 times", "co"),
        ("smoke in the hallway", "fire"),
        ("the outlet sparked", "electrical"),
        ("agua cayendo sobre el enchufe", "water_electrics"),
        ("she burned her hand on the steam pipe", "scald"),
        ("his lips are turning blue", "hypothermia"),
    ],
)
def test_each_danger_has_its_kind(text: str, kind: str) -> None:
    """The kind of danger decides which safety text is sent."""
    assert danger_in(text) == (kind,)


@pytest.mark.parametrize("text", ["no gas smell", "I do not smell gas", "no huele a gas"])
def test_denied_gas_is_neither_danger_nor_complaint(text: str) -> None:
    """A denial of gas is no emergency and no complaint."""
    reading = read(text)
    assert not reading.danger
    assert reading.kinds == ()


@pytest.mark.parametrize(
    "text",
    [
        "i cant breathe",
        "we can't breathe",
        "my mom cant breathe",
        "no puedo respirar",
        "mi hija no puede respirar",
    ],
)
def test_whoever_cannot_breathe_is_in_danger(text: str) -> None:
    """Told by itself it is told as what harms the air, and not as cold or heat."""
    reading = read(text)
    assert reading.danger_kinds == ("co",)
    assert reading.kinds == (Kind.CO_ALARM,)


@pytest.mark.parametrize(
    "text",
    [
        "its so hot i cant breathe",
        "can't breathe in here its like an oven",
        "no se puede respirar de tanto calor",
        "i can't breathe with this dust",
    ],
)
def test_beside_heat_or_dust_breath_is_no_danger(text: str) -> None:
    """It is the heat that takes it."""
    assert danger_in(text) == ()


def test_one_past_headache_is_no_danger_and_others_are() -> None:
    """The whole text is about one person who had it."""
    assert danger_in("my cousin had a headache") == ()
    assert danger_in("mi prima tuvo dolor de cabeza ayer") == ()
    assert danger_in("my cousin had a headache and so did i") == ("co",)
    assert danger_in("we all had a headache this morning with the heat on") == ("co",)


@pytest.mark.parametrize(
    "text",
    [
        "my mom said to text because it smells like gas and shes at work",
        "en el apartamento de abajo no hay nadie y sale un olor a gas por la puerta",
    ],
)
def test_who_is_away_takes_no_danger_back(text: str) -> None:
    """At work is the person, and it is people that are not there."""
    assert danger_in(text) == ("gas",)


def test_low_battery_with_ill_people_is_a_danger() -> None:
    """A chirp stops being harmless when people feel ill."""
    assert danger_in("the CO detector chirps every minute") == ()
    assert danger_in("the CO detector chirps every minute and we all have headaches") == ("co",)


def test_danger_in_a_long_complaint_is_found() -> None:
    """A danger in the middle of a long text counts as much as alone."""
    filler = "the heat has been bad all winter and the super never answers. " * 20
    assert danger_in(f"{filler} also i smell gas by the stove. {filler}") == ("gas",)


def test_reading_reports_danger_with_its_span() -> None:
    """The words that tell of the danger can be shown in the original text."""
    text = "Hello!! I think it SMELLS like GAS here"
    reading = read(text)
    span = next(span for span in reading.spans if span.what == "danger:gas")
    assert text[span.start : span.end] == "SMELLS like GAS"
    assert reading.danger_kinds == ("gas",)
