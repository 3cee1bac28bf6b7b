"""Show a site while its workbooks are edited: build on each save, list what is wrong, reload the
page.

`builds` makes the site and publishes the outcome to `status`; `watch` finds the files that changed;
`responses` turns an address into an answer, with the preview's own pages from `pages`; `server`
sends it.
"""

import threading
from collections.abc import Callable

from reportgen.language import say
from reportgen.preview.builds import Source, build_on_change
from reportgen.preview.ending import interrupted_by_signals
from reportgen.preview.server import HOST, PortTakenError, listen
from reportgen.preview.status import BuildStatus
from reportgen.preview.watch import changes

__all__ = ["PortTakenError", "Source", "interrupted_by_signals", "run"]


def run(source: Source, port: int | None = None, tell: Callable[[str], None] = print) -> None:
    """Serve a site and build it anew whenever its sources change, until KeyboardInterrupt.

    `port` None takes the usual port, or a free one. Raises PortTakenError where the port cannot be
    had.
    """
    status = BuildStatus(lambda: source.language)
    server = listen(source.site, status, port)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        address = f"http://{HOST}:{server.server_port}/"
        tell(say("Preview: {address} (Ctrl-C ends it)", address=address))
        build_on_change(changes(source.folders), source.rebuild, status, tell)
    except KeyboardInterrupt:
        tell(say("The preview has ended."))
    finally:
        status.close()
        server.shutdown()
        server.server_close()
