"""Entry of the planner's child process: only there is the planner, with its solver, imported."""

from multiprocessing.connection import Connection


def serve_plans(connection: Connection) -> None:
    """Answer requests until the other side closes the pipe."""
    from orchestrator.planner.worker import serve

    serve(connection)
