"""How far a lesson is: its scene, its caption, what was answered; no pack is moved here."""

from dataclasses import dataclass, field
from math import inf

from viewer.lessons.lesson import Lesson, Scene
from viewer.screen.drawing import wrapped
from viewer.screen.layout import Layout

READ_S = 4.0
"""Without anybody at the keys a scene that waits, or a question, goes on after this [s]."""

NO_ANSWER = -1
"""The answer of a film, which has nobody to ask."""

RIGHT, NOT_RIGHT = "Right. ", "No. "
"""How the answer to a question begins."""

CHANGED = "The line was changed while it ran, so that no answer is marked: begin the scene again."
"""Said where none of the answers is right any more."""

LETTER_PX = 6.9
"""Mean width of a letter of body text, in layout pixels, a little generous."""


@dataclass
class LessonPlay:
    """How far a lesson is.

    ``alone`` goes on without keys, as a film does. ``at`` is the scene shown, ``ran_s`` the passage
    it has shown and ``tipped`` the cans that tipped in it, both since it began; ``spent_s`` the
    time a scene without passage has been on, ``rest_s`` the time since it asks or was over.
    ``goal``, ``caption``, ``ask``, ``choices`` are what is said before it runs, ``told`` after,
    ``takeaway`` at the end.
    ``answered`` is the answer picked, `NO_ANSWER` where nobody gave one, ``right`` the right one
    once the run has shown it, ``begun`` whether it runs since. ``hurry`` runs to the end at once,
    ``reached`` whether the reader did what a scene asks for, ``go_on`` whether the next one is
    asked for, ``ended`` whether the last scene is over. ``tries`` are the answers marked so far,
    by scene.
    """

    lesson: Lesson
    alone: bool = False
    at: int = 0
    ran_s: float = 0.0
    tipped: int = 0
    spent_s: float = 0.0
    rest_s: float = 0.0
    goal: str = ""
    takeaway: str = ""
    caption: str = ""
    ask: str = ""
    choices: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    hurry: bool = False
    begun: bool = False
    reached: bool = False
    go_on: bool = False
    answered: int | None = None
    right: int | None = None
    ended: bool = False
    tries: dict[int, list[bool]] = field(default_factory=dict)

    @property
    def scene(self) -> Scene:
        """The scene shown."""
        return self.lesson.scenes[self.at]

    @property
    def left_s(self) -> float:
        """Passage still to be shown: a scene lasts its passage, however slow the computer [s].

        One with free hands lasts until it is done; alone, as long as any other.
        """
        row = self.scene.row
        if self.asking:
            return 0.0
        if row.hands and not self.alone:
            return 0.0 if self.reached else inf
        return max(0.0, row.seconds * row.speed - self.ran_s)

    @property
    def over(self) -> bool:
        """Whether the scene has shown what it has to show."""
        row = self.scene.row
        if self.asking:
            return False
        if not row.running:
            return row.question is not None or self.spent_s >= row.seconds
        return self.left_s < 1e-6 or 0 < row.until_tips <= self.tipped

    @property
    def filmed(self) -> bool:
        """Whether the takeaway has been on long enough to be read."""
        return self.ended and self.rest_s >= 2.0 * READ_S

    @property
    def asking(self) -> bool:
        """Whether a question stands open: it comes before the run."""
        return self.scene.row.question is not None and self.answered is None

    @property
    def waiting(self) -> bool:
        """Whether the pack stands still until a key is pressed."""
        row = self.scene.row
        return self.asking or (self.over and (row.wait or row.hands or row.question is not None))

    @property
    def score(self) -> tuple[int, int]:
        """Questions that were right at the first try, and all there are."""
        asked = sum(scene.row.question is not None for scene in self.lesson.scenes)
        return sum(marked[0] for marked in self.tries.values()), asked

    def answer(self, choice: int) -> None:
        """Take an answer, counted from 0, if there is such a choice."""
        question = self.scene.row.question
        if question is not None and 0 <= choice < len(question.choices):
            self.answered = choice

    def press_on(self) -> None:
        """Ask for the next scene; an open question and the end of a run come first."""
        row = self.scene.row
        if self.asking:
            return
        told = row.result is not None or row.question is not None
        if row.running and not row.hands and told and not self.over:
            self.hurry = True
        else:
            self.go_on = True

    def mark(self, right: int | None, told: str, because: str) -> None:
        """Say what the run gave, and which answer it makes right."""
        self.right, said = right, because
        if self.scene.row.question is not None and right is None:
            said = CHANGED
        elif self.scene.row.question is not None:
            good = self.answered == right
            said = (RIGHT if good else self.answer_is(right or 0)) + because
            if self.answered != NO_ANSWER:
                self.tries.setdefault(self.at, []).append(good)
        self.told = tuple(text for text in (told, said) if text)

    def answer_is(self, right: int) -> str:
        """Return what is said of an answer that is not right, or of none."""
        no = "" if self.answered == NO_ANSWER else NOT_RIGHT
        return f"{no}The answer is {right + 1}: {self.choices[right]}. "

    def turn_to(self, at: int) -> None:
        """Begin a scene."""
        self.at, self.answered, self.right, self.told = at, None, None, ()
        self.go_on = self.hurry = self.begun = self.reached = self.ended = False
        self.ran_s = self.spent_s = self.rest_s = 0.0
        self.tipped = 0

    def spend(self, passed_s: float) -> None:
        """Let time pass beside the pack; alone, no answer is given, and it goes on."""
        if self.over or self.asking:
            self.rest_s += passed_s
        elif not self.scene.row.running:
            self.spent_s += passed_s
        if self.alone and self.asking and self.rest_s >= 2.0 * READ_S:
            self.answered, self.rest_s = NO_ANSWER, 0.0
        elif self.alone and self.over and self.rest_s >= READ_S * (1 + len(self.told)):
            self.go_on = True

    @property
    def texts(self) -> tuple[str, ...]:
        """What is said now, a paragraph each."""
        if self.ended:
            right, asked = self.score
            score = f" Right at the first try: {right} of {asked}." if self.tries else ""
            return (f"Takeaway. {self.takeaway}{score}",)
        if self.over and self.told:
            return self.told
        goal = (f"Goal. {self.goal}",) if self.at == 0 else ()
        return (*goal, self.caption, *([self.ask] if self.asking else []))

    def lines(self, text: str, layout: Layout) -> list[str]:
        """Return a text as the lines of the band."""
        return wrapped(text, max(20, int((layout.canvas.w / layout.scale - 60) / LETTER_PX)))

    def choice_rows(self, layout: Layout) -> list[list[tuple[int, int]]]:
        """Return the answers in rows, each with its width [px]: side by side where they fit."""
        room, rows, used = layout.canvas.w - layout.px(48), list[list[tuple[int, int]]](), 0
        for i, choice in enumerate(self.choices):
            wide = min(room, layout.px(round(LETTER_PX * (len(choice) + 8))))
            if not rows or used + wide > room:
                rows.append([])
                used = 0
            rows[-1].append((i, wide))
            used += wide + layout.px(8)
        return rows

    def band_px(self, layout: Layout) -> int:
        """Return the height the lesson's words take under the plans [px].

        It is that of the longest thing the scene has to say, so that the plans stand still when it
        says more.
        """
        row, said = self.scene.row, [self.texts]
        if row.question is not None:
            longest = max(range(len(self.choices)), key=lambda i: len(self.choices[i]))
            said.append((row.result or "", self.answer_is(longest) + row.question.because))
        elif row.result is not None:
            said.append((row.result,))
        heights = [20 * sum(len(self.lines(text, layout)) for text in each) for each in said]
        if self.asking:
            heights[0] += 26 * len(self.choice_rows(layout))
        return round((46 + max(heights)) * layout.scale)
