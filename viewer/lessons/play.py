"""How far a lesson is: its scene, its caption, what was answered; no pack is moved here."""

from dataclasses import dataclass

from viewer.lessons.lesson import Lesson, Scene
from viewer.screen.drawing import wrapped
from viewer.screen.layout import Layout

READ_S = 4.0
"""Without anybody at the keys a scene that waits, or a question, goes on after this [s]."""

RIGHT, NOT_RIGHT = "Right. ", "No. "
"""How the answer to a question begins."""

LETTER_PX = 6.9
"""Mean width of a letter of body text, in layout pixels, a little generous."""


@dataclass
class LessonPlay:
    """How far a lesson is.

    ``alone`` goes on without keys, as a film does. ``at`` is the scene shown, ``ran_s`` the passage
    it has shown and ``tipped`` the cans that tipped in it, both since it began; ``spent_s`` the
    time a scene without passage has been on, ``rest_s`` the time since a scene was over.
    ``caption`` is what is said now, ``cut`` whether the scene was ended by hand, ``go_on`` whether
    the next one is asked for, ``answered`` the answer picked, ``ended`` whether the last scene is
    over.
    """

    lesson: Lesson
    alone: bool = False
    at: int = 0
    ran_s: float = 0.0
    tipped: int = 0
    spent_s: float = 0.0
    rest_s: float = 0.0
    caption: str = ""
    cut: bool = False
    go_on: bool = False
    answered: int | None = None
    ended: bool = False

    @property
    def scene(self) -> Scene:
        """The scene shown."""
        return self.lesson.scenes[self.at]

    @property
    def left_s(self) -> float:
        """Passage still to be shown: a scene lasts its passage, however slow the computer [s]."""
        return max(0.0, self.scene.row.seconds * self.scene.row.speed - self.ran_s)

    @property
    def over(self) -> bool:
        """Whether the scene has shown what it has to show."""
        row = self.scene.row
        if self.cut or not row.running:
            return self.cut or self.spent_s >= row.seconds
        return self.left_s < 1e-6 or 0 < row.until_tips <= self.tipped

    @property
    def asking(self) -> bool:
        """Whether a question stands open."""
        return self.over and self.scene.row.question is not None and self.answered is None

    @property
    def waiting(self) -> bool:
        """Whether the pack stands still until a key is pressed."""
        return self.over and (self.scene.row.wait or self.scene.row.question is not None)

    def answer(self, choice: int) -> None:
        """Take an answer, counted from 0, if there is such a choice."""
        question = self.scene.row.question
        if question is not None and 0 <= choice < len(question.choices):
            self.answered = choice

    def press_on(self) -> None:
        """Ask for the next scene; an open question comes first."""
        if self.scene.row.question is not None and self.answered is None:
            self.cut = True
        else:
            self.go_on = True

    def turn_to(self, at: int) -> None:
        """Begin a scene."""
        self.at, self.answered, self.go_on, self.cut, self.ended = at, None, False, False, False
        self.ran_s = self.spent_s = self.rest_s = 0.0
        self.tipped = 0

    def spend(self, passed_s: float) -> None:
        """Let time pass beside the pack; alone, the right answer is given, and it goes on."""
        if self.over:
            self.rest_s += passed_s
        elif not self.scene.row.running:
            self.spent_s += passed_s
        question = self.scene.row.question
        if self.alone and self.asking and self.rest_s >= READ_S and question is not None:
            self.answered = question.right - 1
        if self.alone and self.rest_s >= (2.0 if question else 1.0) * READ_S:
            self.go_on = True

    def lines(self, text: str, layout: Layout) -> list[str]:
        """Return a text as the lines of the band."""
        return wrapped(text, max(20, int((layout.canvas.w / layout.scale - 60) / LETTER_PX)))

    def band_px(self, layout: Layout) -> int:
        """Return the height the lesson's words take under the plans [px].

        It is that of the longest thing the scene has to say, so that the plans stand still when a
        question is asked.
        """
        heights = [20 * len(self.lines(self.caption, layout))]
        question = self.scene.row.question
        if question is not None:
            asked = 20 * len(self.lines(question.ask, layout)) + 26 * len(question.choices)
            heights += [asked, 20 * len(self.lines(NOT_RIGHT + question.because, layout))]
        return round((46 + max(heights)) * layout.scale)
