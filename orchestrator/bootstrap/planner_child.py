"""Entries of the planner's child processes: only there is the planner imported, the solver only where it searches."""

from multiprocessing.connection import Connection


def serve_quick(connection: Connection) -> None:
    """Answer repairs and short questions until the other side closes the pipe."""
    # Loaded now, so that no repair waits for numpy and scipy behind the first question about chances.
    import orchestrator.planner.risk  # noqa: F401
    from orchestrator.planner.worker import serve

    serve(connection)


def serve_searches(connection: Connection) -> None:
    """Answer what needs the solver until the other side closes the pipe."""
    from orchestrator.planner.worker import serve, warm_up

    warm_up()
    serve(connection)
