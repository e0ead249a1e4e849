"""Pictures: a result and a Figure in, artists and words out.  No pyplot, no widgets.

Each picture is ``build(figure, look) -> update(result, pinned=None) -> (alt text, reading)``, see `evlab.look`.  A
result is taken by its attributes (columns, ledger, events, held, vehicle): they know no part and no ride by name.
"""

from evlab.plots.growth import ledger_growth
from evlab.plots.ranges import Ranges
from evlab.plots.rulers import ledger_rulers
from evlab.plots.strips import strip_chart

__all__ = ["Ranges", "ledger_growth", "ledger_rulers", "strip_chart"]
