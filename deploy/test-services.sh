# Chromium and PostgreSQL for the tests: found, installed where we may, started on loopback; and memory
# for what tests write.
# Sourced by deploy/test.

may_install() { [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; }

install_packages() {
    may_install || return 1
    echo "Installing $* ..." >&2
    {
        apt-get -o DPkg::Lock::Timeout=300 -qq update &&
            DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 -qq -y \
                install --no-install-recommends "$@"
    } >/dev/null 2>&1
}

# missing WHAT MARKER HOW: says that tests are left out; in CI nothing may be left out.
missing() {
    echo "endswitch: $1 is not here and may not be installed by this user, so the tests marked" \
        "'$2' are left out. To run them: $3" >&2
    if [ "${CI:-}" = true ]; then
        echo "endswitch: in CI no test may be left out" >&2
        exit 1
    fi
}

have_chromium() {
    command -v chromium >/dev/null || install_packages chromium fonts-dejavu-core || return 1
    command -v chromium >/dev/null
}

# Of the newest version; a folder that is not there where none is installed.
postgresql_bin() { printf '%s\n' /usr/lib/postgresql/*/bin | sort -V | tail -n 1; }

as_postgres() {
    if [ "$(id -u)" = 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi
}

start_postgresql() {
    local bin
    bin="$(postgresql_bin)"
    if [ ! -x "$bin/initdb" ]; then
        install_packages postgresql || return 1
        bin="$(postgresql_bin)"
    fi
    [ -x "$bin/initdb" ] || return 1
    pg_bin="$bin"
    pg_dir="$(mktemp -d "${TMPDIR:-/tmp}/endswitch-postgres.XXXXXX")"
    [ "$(id -u)" != 0 ] || chown postgres "$pg_dir"
    pg_port="$(.venv/bin/python -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')"
    (
        cd "$pg_dir"
        as_postgres "$pg_bin/initdb" -D "$pg_dir/data" -U postgres --auth=trust -E UTF8 --no-sync
        as_postgres "$pg_bin/pg_ctl" -D "$pg_dir/data" -w -l "$pg_dir/log" \
            -o "-p $pg_port -k $pg_dir -c listen_addresses=127.0.0.1 -c fsync=off" start
    ) >/dev/null 2>&1 || {
        rm -rf "$pg_dir"
        return 1
    }
    export ENDSWITCH_TEST_POSTGRES_URL="postgresql+psycopg://postgres@127.0.0.1:$pg_port/postgres"
}

stop_postgresql() {
    (cd "$pg_dir" && as_postgres "$pg_bin/pg_ctl" -D "$pg_dir/data" -m immediate stop) >/dev/null 2>&1 || true
    rm -rf "$pg_dir"
}

# What tests write lies in memory where that has a gigabyte to spare: every commit of a database waits
# for its disk, and these databases live for a second.
write_to_memory() {
    local free
    free="$(df --output=avail -k /dev/shm 2>/dev/null | tail -n 1)"
    [ "${free:-0}" -gt 1000000 ] && [ -w /dev/shm ] || return 0
    memory="$(mktemp -d /dev/shm/endswitch-test.XXXXXX)"
    export TMPDIR="$memory"
}
