"""Random conversations: the promises hold whatever tenants, timers and technicians do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from rules.asking.conversation import (
    HOMES,
    PLACE,
    RIGHT_NOW,
    Conversation,
    Heard,
    Situation,
    State,
    Step,
    danger_reply,
    step,
    taken_back,
)
from rules.asking.questions import questions
from rules.asking.wording import fits_one_text
from rules.model import Answered, ApartmentId, Fact, Kind, TopicId

HOME = ("oak-12", "3B")
SECOND = ("oak-12", "1A")
FACTS: list[tuple[Fact, ...]] = [
    (),
    (Answered(ApartmentId("3B"), TopicId("q_rooms"), "all"),),
    (
        Answered(ApartmentId("3B"), TopicId("q_start"), "weeks"),
        Answered(ApartmentId("3B"), TopicId("q_hot"), "cold"),
    ),
]
TOPICS = [topic for topic in questions() if topic.startswith("q_")]
FEW_TOPICS = TOPICS[:9]
# What finds out who and where, or comes after the work, is none of the five questions.
UNCOUNTED = {PLACE, HOMES, RIGHT_NOW}
DANGERS = ("gas", "co", "fire", "electrical", "water_electrics", "scald", "hypothermia")
MEANS = sorted({c.means for q in questions().values() for c in q.choices} | {"unknown", "1", "2"})

situations = st.builds(
    Situation,
    next_question=st.none() | st.sampled_from(TOPICS),
    emitter=st.sampled_from(["fin_tube", "steel_panel", "cast_iron", "radiant_floor", None]),
    heat_motor=st.booleans(),
    reference=st.sampled_from(["", "T-7F3K"]),
    respond_by_text=st.sampled_from(["", "7 pm today", "mañana a las 10:30 p. m."]),
    known_to_us=st.booleans(),
    building_name=st.sampled_from(["", "12 Oak St", "1250 Martin Luther King Boulevard North"]),
    homes=st.sampled_from([(), (HOME,), (HOME, SECOND)]),
    kinds=st.frozensets(st.sampled_from(Kind)),
    unnamed=st.booleans(),
    on_page=st.booleans(),
    facts=st.sampled_from(FACTS),
    code=st.sampled_from(["right", "wrong", "void", None]),
    answer=st.none() | st.sampled_from(MEANS),
    reported=st.booleans(),
    danger_open=st.sampled_from([(), (), ("gas",), ("scald",)]),
    leave_now=st.sampled_from([False, False, True]),
    told_more=st.booleans(),
    bare=st.booleans(),
    check_minutes=st.none() | st.integers(1, 90),
    room_f=st.none() | st.floats(40, 99),
    set_f=st.none() | st.floats(45, 90),
    oven_in_use=st.booleans(),
    asides=st.sampled_from(
        [(), ("safety_no_oven", "hands_off"), ("who",), ("cost", "picture"), ("why",)]
    ),
    language=st.sampled_from(["en", "es", None]),
)


class ConversationMachine(RuleBasedStateMachine):
    """One number, any events in any order; each rule checks the step it made."""

    def __init__(self) -> None:
        super().__init__()
        self.now = Conversation()
        self.asked: Counter[str] = Counter()

    def _take(self, event: Heard, situation: Situation) -> Step:
        before = self.now
        result = step(before, event, situation)
        self.now = result.conversation
        self._count(before, result.conversation)
        asks = [say.asks for say in result.says if say.asks is not None]
        assert len(asks) <= 1, "two questions in one step"
        assert {a.topic for a in asks} <= {*self.now.asked, *UNCOUNTED}, "asked but not counted"
        assert all(fits_one_text(say.text) or say.urgent for say in result.says)
        assert all("{" not in say.text for say in result.says)
        assert len({timer.purpose for timer in result.timers}) == len(result.timers)
        assert step(before, event, situation) == result, "not a function of its inputs"
        return result

    def _count(self, before: Conversation, after: Conversation) -> None:
        kept = after.asked[: len(before.asked)] == before.asked
        if not kept:
            self.asked.clear()
        new: Iterable[str] = after.asked[len(before.asked) :] if kept else after.asked
        self.asked.update(new)

    @rule(
        event=st.sampled_from([h for h in Heard if h not in (Heard.STOP, Heard.START)]),
        s=situations,
    )
    def anything(self, event: Heard, s: Situation) -> None:
        """Any text or timer; after STOP there is no answer to it."""
        stopped = self.now.state is State.STOPPED
        result = self._take(event, s)
        if stopped:
            assert result.says == ()
            assert self.now.state is State.STOPPED

    @rule(topics=st.lists(st.sampled_from(FEW_TOPICS), min_size=1, max_size=8))
    def willing(self, topics: list[TopicId]) -> None:
        """A tenant who reports and answers: long runs of questions, some proposed twice."""
        if self.now.state is State.STOPPED:
            return
        for topic in topics:
            waiting = self.now.state is State.WAITING
            event = Heard.ANSWER if self.now.current is not None else Heard.COMPLAINT
            if waiting:
                self._take(Heard.TIMER_CHECK, Situation(homes=(HOME,), emitter="fin_tube"))
            self._take(
                event,
                Situation(
                    next_question=topic, homes=(HOME,), emitter="fin_tube", reference="T-7F3K"
                ),
            )

    @rule(s=situations)
    def back(self, s: Situation) -> None:
        """BACK never asks anything new, and takes back exactly the answer that it names."""
        before = self.now
        topic = taken_back(before)
        result = self._take(Heard.BACK, s)
        after = result.conversation
        assert set(after.asked) <= set(before.asked)
        by_machine = before.state is not State.PERSON and not s.leave_now
        if topic is not None and s.reference and by_machine:
            assert after.current == topic == after.asked[-1]

    @rule(s=situations)
    def stop(self, s: Situation) -> None:
        """STOP is confirmed once; whatever comes then is met with silence."""
        stopped = self.now.state is State.STOPPED
        result = self._take(Heard.STOP, s)
        assert len(result.says) == (0 if stopped else 1)
        assert not result.close_complaint
        for event in Heard:
            if event is not Heard.START:
                assert step(self.now, event, s).says == ()

    @rule(s=situations)
    def start(self, s: Situation) -> None:
        """START always answers, with a second text at most for who is to stay outside; silence ends."""
        result = self._take(Heard.START, s)
        assert 1 <= len(result.says) <= 1 + s.leave_now
        assert self.now.state is not State.STOPPED

    @rule(
        event=st.sampled_from([h for h in Heard if h.is_text]),
        s=situations,
        danger=st.lists(st.sampled_from(DANGERS), min_size=1, max_size=3),
    )
    def danger(self, event: Heard, s: Situation, danger: list[str]) -> None:
        """Danger: the leave-now text is all that is said, and a person is called, always."""
        language = self.now.language
        said = Situation(
            danger=tuple(danger), next_question=s.next_question, homes=s.homes, answer=s.answer
        )
        result = self._take(event, said)
        assert [say.text for say in result.says] == [danger_reply(danger, language)]
        assert result.says[0].asks is None
        assert result.hand_to_person
        assert not result.close_complaint

    @rule(event=st.sampled_from([h for h in Heard if h.is_text]), s=situations)
    def crisis(self, event: Heard, s: Situation) -> None:
        """Who speaks of hurting themselves gets the crisis line and a person, after STOP too."""
        stopped = self.now.state is State.STOPPED
        result = self._take(event, replace(s, crisis=True))
        (said,) = result.says
        assert "988" in said.text
        assert said.urgent
        assert said.asks is None
        assert result.hand_to_person
        if stopped and event is not Heard.START:
            assert self.now.state is State.STOPPED

    @invariant()
    def promises(self) -> None:
        """At most five questions, no topic twice, and what is out fits the state."""
        assert sum(self.asked.values()) <= 5
        assert all(count == 1 for count in self.asked.values())
        assert len(self.now.asked) == len(set(self.now.asked)) <= 5
        out = {
            State.PLACE,
            State.WHICH,
            State.WHAT,
            State.ASKING,
            State.WAITING,
            State.READ_BACK,
            State.REPAIRED,
        }
        # A closed one may remember the question that nobody answered.
        late = self.now.state is State.CLOSED
        assert late or (self.now.current is not None) == (self.now.state in out)

    @invariant()
    def there_is_a_way_on(self) -> None:
        """From any state some event leads to another, and a person can always be reached."""
        reached = {
            step(self.now, event, Situation(reference="T-7F3K", homes=(HOME,))).conversation.state
            for event in Heard
        }
        assert reached - {self.now.state}
        assert step(self.now, Heard.HUMAN, Situation()).hand_to_person


TestConversationMachine = ConversationMachine.TestCase
TestConversationMachine.settings = settings(max_examples=100, stateful_step_count=30, deadline=None)
