"""One library each, behind a port: clock, timers, event log, readings, MQTT, planner process."""
