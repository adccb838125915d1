"""What a job leaves behind in its thread."""

from __future__ import annotations

import asyncio

from workbench.runs.jobs import close_loop


def test_what_still_waits_in_a_loop_ends_before_it_is_closed() -> None:
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    try:
        waiting = loop.create_task(asyncio.sleep(600))
        loop.run_until_complete(asyncio.sleep(0))
        assert not waiting.done()
        close_loop()
        assert waiting.cancelled()
        assert loop.is_closed()
        close_loop()  # a second time there is nothing to do
    finally:
        asyncio.set_event_loop(None)
