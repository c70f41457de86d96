# Shared by deploy/demo and deploy/test: a virtual environment from pinned, hashed requirements.
# Sourced, not run. Call: prepare_environment deploy/requirements.txt

prepare_environment() {
    local pins="$1" stamp wanted
    command -v python3 >/dev/null || {
        echo "endswitch: python3 is missing; on Debian or Ubuntu: apt install python3 python3-venv" >&2
        exit 1
    }
    python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
        echo "endswitch: Python 3.11 or newer is needed, this is $(python3 --version 2>&1)" >&2
        exit 1
    }
    if [ ! -x .venv/bin/python ]; then
        python3 -c 'import ensurepip, venv' 2>/dev/null || {
            echo "endswitch: Python's venv module is missing; on Debian or Ubuntu: apt install python3-venv" >&2
            exit 1
        }
        echo "Making .venv ..." >&2
        python3 -m venv .venv
    fi
    # Installed once per content of the pins and of the project's own metadata.
    wanted="$(cat "$pins" pyproject.toml | sha256sum | cut -d' ' -f1) $pins"
    stamp=.venv/endswitch-installed
    if [ "$(cat "$stamp" 2>/dev/null || true)" != "$wanted" ]; then
        echo "Installing what is pinned in $pins ..." >&2
        # The pins are complete, so nothing is resolved: older pips otherwise take the newest release
        # of a package that another one asks for with an extra, and refuse it for want of a hash.
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps \
            --require-hashes -r "$pins"
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps \
            --no-build-isolation --editable .
        .venv/bin/python -m pip check --disable-pip-version-check >&2
        printf '%s' "$wanted" >"$stamp"
    fi
}
