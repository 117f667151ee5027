# Sourced by the scripts: need PACKAGE... installs what is missing of Debian's packages, with apt-get,
# through sudo when not root. Says nothing when all is there.
need() {
    missing=
    for package in "$@"; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q '^install ok installed' ||
            missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    echo "installing:$missing"
    as_root=
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null 2>&1 || {
            echo "these packages are missing and there is no sudo:$missing" >&2
            return 1
        }
        as_root=sudo
    fi
    # RUNLEVEL=1 keeps a freshly installed service from starting.
    $as_root apt-get update -qq &&
        $as_root env RUNLEVEL=1 DEBIAN_FRONTEND=noninteractive \
            apt-get install -y -qq --no-install-recommends $missing >/dev/null
}

# What building takes.
BUILD_PACKAGES="gcc libc6-dev cmake ninja-build pkg-config libcurl4-openssl-dev libsqlite3-dev
    libconfig-dev libglib2.0-dev libgmime-3.0-dev libjansson-dev libcmocka-dev python3 tzdata"
