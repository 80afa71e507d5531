#!/bin/sh
# What the tests need beyond Python: a browser, a broker and its clients, a database server, what checks
# the systemd unit. Installed if we may, else said.
packages=""
command -v chromium >/dev/null 2>&1 || packages="$packages chromium"
command -v mosquitto >/dev/null 2>&1 || [ -x /usr/sbin/mosquitto ] || packages="$packages mosquitto"
command -v mosquitto_pub >/dev/null 2>&1 || packages="$packages mosquitto-clients"
command -v postgres >/dev/null 2>&1 || ls /usr/lib/postgresql/*/bin/postgres >/dev/null 2>&1 || packages="$packages postgresql"
command -v systemd-analyze >/dev/null 2>&1 || packages="$packages systemd"
[ -z "$packages" ] && exit 0
command="apt-get install -y --no-install-recommends$packages fonts-dejavu-core"
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "Installing for the tests:$packages ..."
    # Installing Mosquitto and PostgreSQL must not start any of the system's: the tests start their own.
    apt-get update -qq && RUNLEVEL=1 DEBIAN_FRONTEND=noninteractive $command -qq >/dev/null && exit 0
fi
echo "The tests need:$packages. Install them with:" >&2
echo "    sudo apt-get update && sudo $command" >&2
exit 1
