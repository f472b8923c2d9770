# Shared by ops/demo and ops/test: what both need before they can start. Sourced, not run.

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)

# What the program needs to run, and a linker to build it.
runtime_packages=(postgresql ffmpeg bubblewrap util-linux)
command -v cc >/dev/null || runtime_packages+=(gcc libc6-dev)

say() { printf '%s\n' "$*"; }

# Installs the Debian packages among the arguments that are missing.
need_packages() {
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null | grep -qx installed || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  if [ "$(id -u)" -ne 0 ]; then
    say "missing Debian packages: ${missing[*]}" >&2
    say "install them with: sudo apt-get install ${missing[*]}" >&2
    return 1
  fi
  say "installing ${missing[*]}"
  export DEBIAN_FRONTEND=noninteractive
  apt-get -qq update
  if [[ " ${missing[*]} " == *" postgresql "* ]]; then
    # The program runs its own Postgres: Debian's package need not create and start one of its own.
    apt-get -qq -y install --no-install-recommends postgresql-common >/dev/null
    sed -i 's/^#\?create_main_cluster.*/create_main_cluster = false/' /etc/postgresql-common/createcluster.conf
  fi
  apt-get -qq -y install --no-install-recommends "${missing[@]}" >/dev/null
}

need_commands() {
  local command
  for command in "$@"; do
    command -v "$command" >/dev/null || { say "missing: $command" >&2; return 1; }
  done
}

# One line that changes whenever a file of the front end does that somebody wrote, save those in the folders among
# the arguments.
frontend_fingerprint() {
  local folder prune=()
  for folder in node_modules build .svelte-kit test-results playwright-report "$@"; do
    prune+=(-path "./$folder" -prune -o)
  done
  (cd "$root/frontend" &&
    find . "${prune[@]}" -type f -print0 | LC_ALL=C sort -z | xargs -0 sha256sum | sha256sum | cut -d' ' -f1)
}

# Installs the front end's packages unless those of the present lock file are there.
frontend_packages() {
  local stamp="$root/frontend/node_modules/.refrain-lock" lock
  lock=$(sha256sum <"$root/frontend/package-lock.json")
  [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$lock" ] && return 0
  say "installing the front end's packages"
  (cd "$root/frontend" && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error)
  printf '%s\n' "$lock" >"$stamp"
}

# Builds the front end unless the build folder already is that of the present sources.
frontend_build() {
  local stamp="$root/frontend/build/.fingerprint" now
  now=$(frontend_fingerprint e2e)
  [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$now" ] && return 0
  frontend_packages
  say "building the front end"
  (cd "$root/frontend" && npx --no-install svelte-kit sync && npm run --silent build)
  printf '%s\n' "$now" >"$stamp"
}

# python_packages FOLDER REQUIREMENTS ...: a Python of its own below target/ with the packages that the files name.
python_packages() {
  local venv="$root/target/$1" stamp="$root/target/$1/.requirements" wanted
  shift
  local files=("${@/#/$root/}")
  wanted=$(cat "${files[@]}" | sha256sum)
  [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$wanted" ] && return 0
  say "installing the packages of $*" >&2
  mkdir -p "$root/target"
  rm -rf "$venv"
  python3 -m venv "$venv" && "$venv/bin/pip" install --quiet --disable-pip-version-check "${files[@]/#/--requirement=}" || return 1
  printf '%s\n' "$wanted" >"$stamp"
}

# The Python that what lies in ops/bench runs on: its path, once its packages are there.
bench_python() {
  python_packages python-bench tests/reference/requirements.txt ops/bench/requirements.txt
  say "$root/target/python-bench/bin/python"
}
