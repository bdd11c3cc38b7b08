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

    ``alone`` goes on without keys, as a film does. ``at`` is the scene shown, ``spent_s`` the time
    it has been on, ``caption`` what is said now, ``go_on`` whether the next scene is asked for,
    ``answered`` the answer picked, ``ended`` whether the last scene is over.
    """

    lesson: Lesson
    alone: bool = False
    at: int = 0
    spent_s: float = 0.0
    caption: str = ""
    go_on: bool = False
    answered: int | None = None
    ended: bool = False

    @property
    def scene(self) -> Scene:
        """The scene shown."""
        return self.lesson.scenes[self.at]

    @property
    def over(self) -> bool:
        """Whether the scene's time is up."""
        return self.spent_s >= self.scene.row.seconds

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

    def turn_to(self, at: int) -> None:
        """Begin a scene."""
        self.at, self.spent_s, self.answered, self.go_on = at, 0.0, None, False

    def spend(self, passed_s: float) -> None:
        """Let time of the scene pass; alone, the right answer is given and the lesson goes on."""
        self.spent_s += passed_s
        question, rest = self.scene.row.question, self.spent_s - self.scene.row.seconds
        if self.alone and self.asking and rest >= READ_S and question is not None:
            self.answered = question.right - 1
        if self.alone and rest >= (2.0 if question else 1.0) * READ_S:
            self.go_on = True
        if self.asking:
            self.go_on = False

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
