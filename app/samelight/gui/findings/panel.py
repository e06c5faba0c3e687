"""The list of findings: sentences, worst first; choosing one selects its cells."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSignalBlocker,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QPushButton,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.findings.finding import Action, Finding, Sureness
from samelight.gui.findings.trouble_list import TroubleList
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.whole_paths import with_whole_paths
from samelight.gui.state.found_again import found_again
from samelight.gui.widgets.frame_curve import FrameCurve
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.yielding_bar import YieldingBar
from samelight.reports.shown import clean_lines
from samelight.reports.signs import STATE_MARKS
from samelight.sequence.crew import Crew
from samelight.sequence.session import Session

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()
_FEW = 2
FINDING_ROLE = Qt.ItemDataRole.UserRole + 1
BELOW_ROLE = Qt.ItemDataRole.UserRole + 2
"""What stands under the sentence of a finding that is chosen."""
SHORT_ROLE = Qt.ItemDataRole.UserRole + 3
"""What stands there in one line."""


class FindingsModel(QAbstractListModel):
    """A thin model over a list of findings."""

    taken = Signal()
    """Findings were given, even where they are the same ones as before."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.findings: list[Finding] = []
        self.crew = Crew()
        """Whom findings go to."""
        self.known = False
        """Whether any were given yet, be it none."""

    def set_findings(self, findings: list[Finding]) -> None:
        """Show other findings; the same ones stay as they are, with the one that is chosen."""
        self.known = True
        if findings != self.findings:
            self.beginResetModel()
            self.findings = list(findings)
            self.endResetModel()
        else:
            self.findings = list(findings)  # equal, and compared at once the next time: the same objects
        self.taken.emit()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.findings)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        finding = self.findings[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return clean_lines(finding.says)
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return clean_lines(finding.do)
        if role == Qt.ItemDataRole.ToolTipRole:
            parts = [finding.finding, f"How sure: {finding.sureness}."]
            if finding.level >= Grade.DRIFT:
                parts.append(f"{finding.level.word}, {finding.state}".capitalize())
            parts += [finding.known, finding.guessed and f"Guessed: {finding.guessed}", finding.do]
            return plain("\n".join(part for part in parts if part))
        if role == BELOW_ROLE:
            return below_text(finding, self.crew)
        if role == SHORT_ROLE:
            return short_text(finding, self.crew)
        return finding if role == FINDING_ROLE else None


def actions_of(finding: Finding) -> set[Action]:
    """What can be done with a finding: what it offers for its cells; either verdict on what it says beside cells."""
    closes = Action.CLOSE in finding.actions
    offered = set(finding.actions) if finding.cells or closes else set()
    return offered | ({Action.INTEND, Action.RETURN} if finding.cases and not closes else set())


def is_handled(finding: Finding) -> bool:
    """Whether a finding was decided on, so that nobody has to look at it now."""
    return finding.state.is_handled


def stands_text(finding: Finding) -> str:
    """Its level with what was decided, and how sure it is where it is a guess."""
    parts = [] if finding.sureness is Sureness.CERTAIN else [str(finding.sureness)]
    if finding.level >= Grade.DRIFT:
        stands = f"{STATE_MARKS[finding.state]} {finding.state}".strip()
        parts = [finding.level.word, stands, *parts]
    said = ", ".join(parts)
    return f"{said[:1].upper()}{said[1:]}"


def below_text(finding: Finding, crew: Crew) -> str:
    """What stands under the sentence of the one that is chosen: how it stands, what to do, and whom it goes to."""
    said = stands_text(finding)
    do = f"{said}. {finding.do}".strip() if said else finding.do
    to = crew.to(finding.shots)
    return f"{do}\nTo: {to}" if to else do


def short_text(finding: Finding, crew: Crew) -> str:
    """What stands under the sentence of the others: which shots they are, who lights them, and how it stands.

    A few shots are named, of more their number and both ends.
    """
    shots = finding.shots
    named = ", ".join(shots) if len(shots) <= _FEW else f"{len(shots)} shots, {shots[0]} to {shots[-1]}"
    who = ", ".join(crew.names_of(shots))
    where = f"{named} ({who})" if who else named
    return ". ".join(part for part in (where, stands_text(finding)) if part)


_WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
_ONE_LINE = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
_BAR, _PAD = 5, 6


class FindingDelegate(QStyledItemDelegate):
    """At the left a bar in the colour of its worst drift; beside it the sentence, in one line, and what was decided, which
    shots they are and who lights them. The one that is chosen is written out, with what to do."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view
        self._says, self._do = theme.font(), theme.font(theme.DENSE)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        finding: Finding = index.data(FINDING_ROLE)
        rect: QRect = option.rect
        chosen = self._is_chosen(index)
        painter.fillRect(rect, theme.HIGHLIGHT if chosen else theme.FIELD)
        painter.fillRect(
            QRect(rect.left(), rect.top(), _BAR, rect.height()),
            theme.EDGE if is_handled(finding) else drift_scale.colour(finding.worst),
        )
        left, width = rect.left() + _BAR + _PAD, self._width(rect.width())
        height = self._height(finding.says, self._says, width) if chosen else self._line(self._says)
        painter.setFont(self._says)
        dim = is_handled(finding) and not chosen
        painter.setPen(theme.BRIGHT if chosen else theme.DIM_TEXT if dim else theme.TEXT)
        above = QRect(left, rect.top() + 3, width, height)
        draw_text(
            painter,
            above,
            _WRAP if chosen else _ONE_LINE,
            self._shown(finding.says, self._says, width, chosen),
        )
        painter.setFont(self._do)
        painter.setPen(theme.TEXT if chosen else theme.DIM_TEXT)
        below = QRect(left, rect.top() + 4 + height, width, rect.height() - height - 4)
        said: str = index.data(BELOW_ROLE if chosen else SHORT_ROLE)
        draw_text(painter, below, _WRAP if chosen else _ONE_LINE, self._shown(said, self._do, width, chosen))

    def _is_chosen(self, index: Index) -> bool:
        return index.row() == self._view.currentIndex().row()

    def _shown(self, text: str, face: QFont, width: int, chosen: bool) -> str:
        text = clean_lines(text)
        if chosen:
            return with_whole_paths(text, face, width)
        return QFontMetrics(face).elidedText(text, Qt.TextElideMode.ElideRight, width)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        # An item lies inside the list's spacing, and its text wraps in what that leaves.
        whole = self._view.viewport().width() - 2 * self._view.spacing()
        if not self._is_chosen(index):
            return QSize(whole, self._line(self._says) + self._line(self._do) + 7)
        finding: Finding = index.data(FINDING_ROLE)
        width = self._width(whole)
        said: str = index.data(BELOW_ROLE)
        return QSize(
            whole, self._height(finding.says, self._says, width) + self._height(said, self._do, width) + 9
        )

    def _width(self, whole: int) -> int:
        return max(whole - _BAR - 2 * _PAD, 80)

    def _line(self, face: QFont) -> int:
        return QFontMetrics(face).height()

    def _height(self, text: str, face: QFont, width: int) -> int:
        if not text:
            return 0
        shown = with_whole_paths(clean_lines(text), face, width)
        return QFontMetrics(face).boundingRect(0, 0, width, 10_000, _WRAP, shown).height()


NOTHING_OPEN = "No sequence is open."
NOTHING_FOUND = "No findings. Samelight draws them from how the shots drift from the current master."
STILL_LOOKING = "Looking for findings…"
NOT_THE_MASTER = "Findings are about the master. Compare the shots with it again to see them."


class _List(QListView):
    """A list whose items take their height anew when its width changes, and that says why it has none."""

    def __init__(self) -> None:
        super().__init__()
        self._why = NOTHING_OPEN
        self.setItemDelegate(FindingDelegate(self))
        self.setSpacing(1)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setLayoutMode(QListView.LayoutMode.Batched)  # measuring a film's thousands holds up the window
        self.setBatchSize(200)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setFrameShape(QListView.Shape.NoFrame)
        self.setAccessibleName("Findings")
        self.setToolTip("Choosing a finding selects all its cells (F, Shift+F)")

    def say_why_empty(self, why: str) -> None:
        """What to say while there are no items."""
        self._why = why
        self.setAccessibleDescription(self.said_empty())
        self.viewport().update()

    def said_empty(self) -> str:
        """What the list says in place of items; nothing while it has some."""
        return self._why if self.model() is not None and not self.model().rowCount() else ""

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if said := self.said_empty():
            painter = QPainter(self.viewport())
            painter.setFont(theme.font())
            painter.setPen(theme.DIM_TEXT)
            draw_text(painter, self.viewport().rect().adjusted(10, 8, -10, -8), _WRAP, said)
            painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()


class FindingsPanel(QWidget):
    """The list, its keyboard, and what one click on a finding can do."""

    chosen = Signal(object)
    """The finding that was chosen."""
    asked = Signal(object, object)
    """A verb, and the finding whose cells it is asked for."""
    entered = Signal()
    """The keys are to go to the cells of the finding that is chosen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = FindingsModel(self)
        self._about_master = True
        self._searching = False
        self.list = _List()
        self.list.setModel(self.model)
        self.list.selectionModel().currentChanged.connect(self._changed)
        self.list.activated.connect(self._enter)
        self.troubles = TroubleList()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.troubles)
        layout.addWidget(self.list, 1)
        self.frames = FrameCurve(brief=True)
        self.frames.hide()
        layout.addWidget(self.frames)
        self.buttons: dict[Action, QPushButton] = {}
        for action, verb, text, tip in (
            (
                Action.CLOSE,
                Verb.CLOSE,
                "Close all",
                "Say that every cell of this finding is mended, after a look",
            ),
            (Action.INTEND, Verb.INTEND, "All are intended…", "Mark every cell of this finding as intended"),
            (Action.RETURN, Verb.RETURN, "Send all back…", "Send every cell of this finding back"),
        ):
            button = QPushButton(text)
            button.setToolTip(plain(tip))
            button.setEnabled(False)
            button.clicked.connect(lambda _=False, verb=verb: self._ask(verb))
            self.buttons[action] = button
        self.buttons[Action.CLOSE].hide()
        layout.addWidget(YieldingBar(list(self.buttons.values())))
        self.model.modelReset.connect(self._enable)
        self.model.taken.connect(self._say_why_empty)
        self._say_why_empty()

    def show_session(self, session: Session) -> None:
        """Show a session's findings, which are drawn only while its shots are compared with the master."""
        self.troubles.show_session(session)
        self._about_master = session.cases.decidable
        kept = self.current()
        self.model.crew = session.crew
        self.model.set_findings(sorted(session.cases.findings, key=is_handled))
        again = (
            found_again(kept, self.model.findings) if kept is not None and self.current() is None else None
        )
        if again is not None:  # it is chosen still, which is no news to anyone
            with QSignalBlocker(self):
                self.list.setCurrentIndex(self.model.index(self.model.findings.index(again)))

    def show_searching(self, busy: bool) -> None:
        """Whether findings are still being looked for, so that none does not mean that nothing is found."""
        self._searching = busy
        self._say_why_empty()

    def _say_why_empty(self) -> None:
        if not self.model.known:
            why = NOTHING_OPEN
        elif not self._about_master:
            why = NOT_THE_MASTER
        else:
            why = STILL_LOOKING if self._searching else NOTHING_FOUND
        self.list.say_why_empty(why)

    def current(self) -> Finding | None:
        """The finding that is chosen."""
        finding = self.model.data(self.list.currentIndex(), FINDING_ROLE)
        return finding if isinstance(finding, Finding) else None

    def choose(self, finding: Finding) -> None:
        """Go to a finding, as a click on it does."""
        if finding not in self.model.findings:
            return
        index = self.model.index(self.model.findings.index(finding))
        self.list.scrollTo(index)
        if index == self.list.currentIndex():
            self._changed(index)
        else:
            self.list.setCurrentIndex(index)

    def _enable(self) -> None:
        finding = self.current()
        self.frames.show_points(() if finding is None else finding.frames)
        offered = set() if finding is None else actions_of(finding)
        for action, button in self.buttons.items():
            button.setEnabled(action in offered)
        # What was mended is closed, and nobody says of it that it is meant: one place does for both.
        closes = Action.CLOSE in offered
        self.buttons[Action.CLOSE].setVisible(closes)
        self.buttons[Action.INTEND].setVisible(not closes)

    def _ask(self, verb: Verb) -> None:
        finding = self.current()
        if finding is not None:
            self.asked.emit(verb, finding)

    def _changed(self, current: QModelIndex, *_: object) -> None:
        self._enable()
        self.list.scheduleDelayedItemsLayout()  # the one that is chosen is written out
        finding = self.model.data(current, FINDING_ROLE)
        if finding is not None:
            self.chosen.emit(finding)

    def _enter(self, current: QModelIndex) -> None:
        self._changed(current)
        self.entered.emit()

    def let_go(self) -> None:
        """Choose none."""
        with QSignalBlocker(self):
            self.list.setCurrentIndex(QModelIndex())
        self._enable()

    def left(self) -> tuple[int, int]:
        """How many findings nobody has handled, and how many there are."""
        findings = self.model.findings
        return sum(not is_handled(finding) for finding in findings), len(findings)

    def step(self, by: int) -> None:
        """Choose the next or the previous finding, round and round."""
        count = self.model.rowCount()
        if count:
            here = self.list.currentIndex().row()
            row = (here + by) % count if here >= 0 else (0 if by > 0 else count - 1)
            self.list.setCurrentIndex(self.model.index(row))
