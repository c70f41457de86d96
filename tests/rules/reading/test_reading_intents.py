"""What a tenant wants: keywords, opting out, people, visits, mended, called off."""

from __future__ import annotations

import pytest

from rules.model import Intent
from rules.reading import read

# The words of 47 CFR 64.1200(a)(10) (value from memory of secondary pages), typed as people type.
_OPT_OUT = """
STOP| Stop. |STOP!!|stop please|Unsubscribe|unsuscribe|please opt out|stop texting me|end|END.
cancel|Cancel.|quit|revoke|stop sending me these texts|no más mensajes|no mas|PARAR|pare|alto|cancelar
no me manden mas mensajes|dejen de mandarme mensajes|take me off this list|do not text me again
ЅТОР|darme de baja
"""
_NO_OPT_OUT = """
the noise won't stop|heat cuts out and it will not stop|bus stop|Stop the noise please
it never stops banging|the end radiator is cold|i quit waiting, no heat
cancel my visit please|make the heat stop, its boiling
no para el ruido|we are at the bus stop, is the tech there|stop by anytime, no heat
"""
_INTENTS = [
    ("START", Intent.START),
    ("unstop", Intent.START),
    ("quiero recibir mensajes de nuevo", Intent.START),
    ("HELP", Intent.HELP),
    ("Ayuda!", Intent.HELP),
    ("who is this?", Intent.HELP),
    ("de quien es este numero", Intent.HELP),
    ("help its freezing", Intent.COMPLAINT),
    ("STATUS", Intent.STATUS_QUESTION),
    ("estado", Intent.STATUS_QUESTION),
    ("any update?", Intent.STATUS_QUESTION),
    ("when is the tech coming", Intent.STATUS_QUESTION),
    ("cuando vienen?", Intent.STATUS_QUESTION),
    ("when", Intent.STATUS_QUESTION),
    ("when?", Intent.STATUS_QUESTION),
    ("cuando", Intent.STATUS_QUESTION),
    ("¿Cuándo?", Intent.STATUS_QUESTION),
    ("Everything ok?", Intent.STATUS_QUESTION),
    ("todo bien?", Intent.STATUS_QUESTION),
    ("solo cuando prende", Intent.ANSWER),
    ("PERSON", Intent.WANT_HUMAN),
    ("persona", Intent.WANT_HUMAN),
    ("can i talk to somebody", Intent.WANT_HUMAN),
    ("no heat, please call me", Intent.WANT_HUMAN),
    ("heat is back, thanks", Intent.RESOLVED),
    ("ya hay calefaccion gracias", Intent.RESOLVED),
    ("heat is back but now the pipes bang", Intent.COMPLAINT),
    ("still not fixed", Intent.COMPLAINT),
    ("no need to send anyone", Intent.CANCEL),
    ("ya no hace falta, gracias", Intent.CANCEL),
    ("ya no hace falta", Intent.CANCEL),
    ("ya no hace falta que vengan, se arreglo", Intent.CANCEL),
    ("yes still hot after 30 min", Intent.ANSWER),
    ("no its only the kitchen", Intent.ANSWER),
    ("sí, todo el apartamento", Intent.ANSWER),
    ("no heat", Intent.COMPLAINT),
    ("thank you", Intent.OTHER),
    ("when is rent due", Intent.OTHER),
    ("", Intent.OTHER),
    ("so is the heating guy on his way or did he skip us", Intent.STATUS_QUESTION),
    ("quedaron de venir ayer y nada", Intent.STATUS_QUESTION),
    ("are we getting heat back today", Intent.STATUS_QUESTION),
    ("what did the plumber say about my radiator", Intent.STATUS_QUESTION),
    ("hello?? still no one", Intent.STATUS_QUESTION),
    ("radiators are hot again", Intent.RESOLVED),
    ("who is in charge, i need to talk to them", Intent.WANT_HUMAN),
    ("the one by the window", Intent.ANSWER),
    ("mi mama esta en casa todo el dia", Intent.ANSWER),
    ("its the old iron kind", Intent.ANSWER),
    ("asdfgh", Intent.OTHER),
    ("happy holidays", Intent.OTHER),
    ("the mailman left my package in the lobby", Intent.OTHER),
]


def _split(texts: str) -> list[str]:
    return [text for line in texts.strip("\n").split("\n") for text in line.split("|")]


@pytest.mark.parametrize("text", _split(_OPT_OUT))
def test_opting_out_in_any_reasonable_words_counts(text: str) -> None:
    """A text that revokes consent is an opt-out, however it is typed."""
    assert read(text).intent is Intent.STOP


@pytest.mark.parametrize("text", _split(_NO_OPT_OUT))
def test_the_word_stop_in_a_sentence_is_no_opt_out(text: str) -> None:
    """A complaint that holds a word of opting out stays a complaint."""
    assert read(text).intent is not Intent.STOP


@pytest.mark.parametrize(("text", "intent"), _INTENTS)
def test_each_text_has_the_intent_it_was_sent_with(text: str, intent: Intent) -> None:
    """Keywords and sentences in both languages are told apart."""
    assert read(text).intent is intent


@pytest.mark.parametrize(
    ("text", "wish"),
    [
        ("ESPAÑOL", "es"),
        ("en espanol por favor", "es"),
        ("habla español?", "es"),
        ("English", "en"),
        ("in english please", "en"),
        ("no hay calefaccion", None),
        ("cambie a español", "es"),
        ("me puede escribir en español", "es"),
        ("I dont speak english", "es"),
        ("switch to english", "en"),
        ("pueden mandarlo en español", "es"),
        ("no hablo español", "en"),
        ("my neighbor speaks spanish and its cold here", None),
        ("inglés no, español", "es"),
        ("no español, english", "en"),
    ],
)
def test_wish_for_a_language_is_heard(text: str, wish: str | None) -> None:
    """Somebody may ask for the other language at any time."""
    assert read(text).language_wish == wish


@pytest.mark.parametrize("text", ["heat is back on", "please cancel the visit", "STOP", "HELP"])
def test_what_is_over_has_no_kinds(text: str) -> None:
    """Nothing is wrong any more in a text that calls off, thanks or only handles texting."""
    assert read(text).kinds == ()


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("hay un golpe fuerte en la tuberia cada vez que se apaga la calefaccion", ["noise"]),
        ("the pipes bang every time the heat goes off", ["noise"]),
        ("pipes bang every time it starts and there is no heat", ["noise", "too_cold"]),
        ("el radiador no para de hacer ruido como martillazos toda la noche", ["noise"]),
        ("the radiator wont stop banging", ["noise"]),
        ("el radiador no para de sonar", ["noise"]),
        ("el radiador no para de calentar y hace ruido", ["noise", "too_hot"]),
    ],
)
def test_when_a_noise_comes_is_no_complaint_of_its_own(text, kinds):
    """ "Each time the heat goes off" says when it bangs, not that it is cold."""
    assert sorted(read(text).kinds) == kinds
