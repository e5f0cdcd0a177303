# What the scripts share: where the repository is, what has to be installed,
# how it is built. To be sourced by bash, never run.
#
# Not here: any check or measurement.

# shellcheck shell=bash
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
# Paths on the command line are meant from here.
started_in=$PWD
cd "$root"

# Programs are looked for in here, so they have to be built in here.
export CARGO_TARGET_DIR="$root/target"

if [ -n "${CI:-}" ]; then
    export CARGO_TERM_COLOR=never NO_COLOR=1
fi

LEAST_RUST=1.92.0
LEAST_NODE=20.19
TEST_NODE=22.23.3

# A package, or command:package where the command may come from elsewhere too.
BUILD_PACKAGES=(
    build-essential pkg-config ca-certificates
    libgstreamer1.0-dev libgstreamer-plugins-base1.0-dev
    gstreamer1.0-plugins-base gstreamer1.0-plugins-good
    gstreamer1.0-plugins-bad gstreamer1.0-plugins-ugly
    # Encrypts what publishers send.
    libssl-dev
    # Decodes what cannot be passed on as it comes.
    gstreamer1.0-libav
)
TEST_PACKAGES=(
    libgstrtspserver-1.0-dev gstreamer1.0-tools gstreamer1.0-libav ffmpeg:ffmpeg
    node:nodejs npm:npm openssl:openssl unzip:unzip bsdtar:libarchive-tools
)
# Beside the browser, what puts a certificate into the list it trusts, and a
# display to be filmed; and publishers that are no browser.
BROWSER_PACKAGES=(
    "${CHROMIUM:-/usr/bin/chromium}:chromium" certutil:libnss3-tools Xvfb:xvfb
    python3-aiortc python3-gi gir1.2-gst-plugins-bad-1.0 gstreamer1.0-nice
)
# Other engines, what decodes H.264 for them, and what an old Chromium is linked
# with.
ENGINE_PACKAGES=(
    "${FIREFOX:-/usr/bin/firefox-esr}:firefox-esr" WebKitWebDriver:webkit2gtk-driver
    Xvfb:xvfb libnss3 fonts-dejavu-core
)

say() { printf '%s\n' "$*" >&2; }

die() {
    say "$(basename "$0"): $*"
    exit 1
}

# Whether a command is there. `need_packages` asks it before dpkg.
have() { command -v "$1" >/dev/null 2>&1; }

# Whether dpkg has a package fully installed.
installed() {
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null)" = installed ]
}

# Runs as root: as it is, or with sudo.
as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    else
        sudo "$@"
    fi
}

# Installs those of the named Debian packages that are not there yet.
need_packages() {
    have dpkg-query && have apt-get ||
        die "this needs Debian 12 or 13, or a relative of it; elsewhere see README.md for what to install"
    local entry missing=()
    for entry in "$@"; do
        case $entry in
        *:*) have "${entry%%:*}" || missing+=("${entry#*:}") ;;
        *) installed "$entry" || missing+=("$entry") ;;
        esac
    done
    [ ${#missing[@]} -gt 0 ] || return 0
    if [ "$(id -u)" -ne 0 ] && ! have sudo; then
        die "some packages are missing; as root: apt-get install --no-install-recommends ${missing[*]}"
    fi
    say "installing ${missing[*]}"
    local install=(env DEBIAN_FRONTEND=noninteractive
        apt-get install -y -q --no-install-recommends "${missing[@]}")
    # A machine fresh from its image knows no packages; an old one knows
    # versions that are gone. Both are mended by asking anew, once.
    if [ -z "$(find /var/lib/apt/lists -name '*_Packages*' -print -quit 2>/dev/null)" ] ||
        ! as_root "${install[@]}" >&2; then
        as_root apt-get update -q >&2 || die "the package lists cannot be fetched"
        as_root "${install[@]}" >&2 || die "these could not be installed: ${missing[*]}"
    fi
}

# Whether version $1 is at least $2.
at_least() { printf '%s\n%s\n' "$2" "$1" | sort -V -C; }

need_rust() {
    # Where rustup puts it; a service's or sudo's PATH often lacks it.
    if ! have cargo && [ -x "${CARGO_HOME:-${HOME:-/root}/.cargo}/bin/cargo" ]; then
        PATH="${CARGO_HOME:-${HOME:-/root}/.cargo}/bin:$PATH"
    fi
    local version
    have cargo && have rustc && version=$(rustc --version | cut -d' ' -f2) &&
        at_least "${version%%-*}" "$LEAST_RUST" ||
        die "install a Rust toolchain ≥ ${LEAST_RUST%.*} and run again${version:+ (this one is $version)}"
}

# Debian 12's node is too old for the tool that drives the browser. Where node
# is too old, a newer one is put into target/, for the tests alone.
need_node() {
    local version tools="$root/target/node"
    version=$(node -p process.versions.node) || die "node does not run"
    at_least "$version" "$LEAST_NODE" && return
    local machine
    case $(uname -m) in
    x86_64) machine=x64 ;;
    aarch64) machine=arm64 ;;
    *) die "node $version is too old for the tests; install $LEAST_NODE or newer and run again" ;;
    esac
    local package="node-linux-$machine"
    if [ ! -x "$tools/node_modules/$package/bin/node" ]; then
        say "node $version is too old for the tests; fetching $TEST_NODE into target/node"
        npm install --prefix "$tools" --no-save --no-audit --no-fund "$package@$TEST_NODE" >&2
    fi
    PATH="$tools/node_modules/$package/bin:$PATH"
}

# Builds with the profile of AFTERTURN_PROFILE, debug unless it says release;
# what is built is then in target/$AFTERTURN_PROFILE.
build() {
    export AFTERTURN_PROFILE="${AFTERTURN_PROFILE:-debug}"
    case $AFTERTURN_PROFILE in
    debug) cargo build --locked "$@" ;;
    release) cargo build --locked --release "$@" ;;
    *) die "AFTERTURN_PROFILE is debug or release, not $AFTERTURN_PROFILE" ;;
    esac
}

# The test tools of tests/web, or of another folder, as its lock file has them;
# nothing to do if they are there already.
need_web_tools() {
    local folder=${1:-tests/web}
    [ ! "$folder/node_modules/.package-lock.json" -nt "$folder/package-lock.json" ] || return 0
    (cd "$folder" && npm ci)
}

# Runs one of tests/web's measurements with a release build.
measure() {
    local what=$1
    shift
    need_rust
    need_packages "${BUILD_PACKAGES[@]}" "${TEST_PACKAGES[@]}" "${BROWSER_PACKAGES[@]}"
    need_node
    export AFTERTURN_PROFILE="${AFTERTURN_PROFILE:-release}"
    build --workspace
    need_web_tools
    cd "$started_in"
    exec node "$root/tests/web/$what" "$@"
}
