"""One module per page: a Flask blueprint named ``pages``, and the panels that it registers.

To add a page, write a module like `station` and name its blueprint here.
"""

from flask import Blueprint

from display.pages import (
    alarm_figures,
    alarms,
    board,
    calls,
    changing,
    desk,
    doubt,
    durations,
    files,
    helping,
    home,
    labels,
    late,
    lots,
    mix,
    ordering,
    papers,
    person,
    probe,
    probes,
    receiving,
    station,
    stations,
    stock,
    task,
    trace,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    stations.pages,
    station.pages,
    helping.pages,
    task.pages,
    person.pages,
    board.pages,
    home.pages,
    probes.pages,
    probe.pages,
    alarms.pages,
    alarm_figures.pages,
    lots.pages,
    labels.pages,
    late.pages,
    papers.pages,
    files.pages,
    doubt.pages,
    desk.pages,
    durations.pages,
    mix.pages,
    calls.pages,
    changing.pages,
    ordering.pages,
    receiving.pages,
    stock.pages,
    trace.pages,
)
