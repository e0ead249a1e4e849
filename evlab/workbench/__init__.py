"""The workbench: the only room that knows ipywidgets.  A page describes itself as a `Page`; all else is made from it."""

from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.live_picture import LivePicture, Still, still
from evlab.workbench.page import Case, Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Asked, Question, Questions

__all__ = ["Asked", "Case", "Day", "Knob", "LivePicture", "Page", "Picture", "Question", "Questions", "Readout", "Shown",
           "Still", "Workbench", "Worked", "still"]
