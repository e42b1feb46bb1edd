#!/bin/sh
# The real parts the tests run against: a PostgreSQL server, Chromium, and node with calendar readers.
# Installs them from Debian's packages where it may; says what to do where it may not.
set -eu

wanted=""
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || command -v initdb >/dev/null 2>&1 || wanted="$wanted postgresql"
command -v chromium >/dev/null 2>&1 || wanted="$wanted chromium"
command -v node >/dev/null 2>&1 || wanted="$wanted nodejs"
command -v npm >/dev/null 2>&1 || wanted="$wanted npm"

if [ -n "$wanted" ]; then
    if [ "$(id -u)" -ne 0 ] || ! command -v apt-get >/dev/null 2>&1; then
        echo "The tests need these Debian packages, and this user may not install them:$wanted" >&2
        echo "As root: apt-get update && apt-get install$wanted" >&2
        exit 1
    fi
    apt-get update -qq
    # shellcheck disable=SC2086
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $wanted >/dev/null
fi

cd "$(dirname "$0")/post/readers"
npm install --no-audit --no-fund --no-package-lock --loglevel=error
