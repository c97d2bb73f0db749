#!/usr/bin/env bash
# Runs every check of the project on a fresh machine with Go, git and Debian's packages.
# Installs what the tests need (Chromium, a C compiler for the race detector, axe-core, PostgreSQL, readers of PDF and DXF) if it is missing.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

say() { printf '\n== %s\n' "$*"; }

say "What the tests need"
need=()
command -v chromium >/dev/null || need+=(chromium)
command -v gcc >/dev/null || need+=(gcc libc6-dev)
command -v npm >/dev/null || need+=(npm)
command -v ccx >/dev/null || need+=(calculix-ccx)
command -v pdftoppm >/dev/null || need+=(poppler-utils)
/usr/bin/python3 -c 'import ezdxf' 2>/dev/null || need+=(python3-ezdxf)
compgen -G '/usr/lib/postgresql/*/bin/postgres' >/dev/null || need+=(postgresql)
fc-list 2>/dev/null | grep -qi dejavu || need+=(fonts-dejavu-core)
if ((${#need[@]})); then
  sudo=""
  [ "$(id -u)" = 0 ] || sudo=sudo
  $sudo apt-get update -q
  DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -q --no-install-recommends "${need[@]}"
fi
axe=4.14.1
if [ ! -f "internal/journey/node_modules/axe-core/axe.min.js" ]; then
  npm install --prefix internal/journey --no-save --no-package-lock --no-audit --no-fund --silent "axe-core@$axe"
fi

say "A PostgreSQL of our own, gone when this ends"
pg_bin=$(find /usr/lib/postgresql -mindepth 2 -maxdepth 2 -name bin | sort -V | tail -n 1)
pg=$(mktemp -d)
as_pg=()
if [ "$(id -u)" = 0 ]; then # which the server refuses to run as
  chown postgres "$pg"
  as_pg=(runuser -u postgres --)
fi
pg_port=$(/usr/bin/python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
run_pg() { (cd / && "${as_pg[@]}" "$pg_bin/$1" -D "$pg/data" "${@:2}"); }
stop_pg() {
  run_pg pg_ctl -m immediate stop >/dev/null 2>&1 || true
  rm -rf "$pg"
}
trap stop_pg EXIT
run_pg initdb -U postgres --auth=trust -E UTF8 --locale=C.UTF-8 >/dev/null
run_pg pg_ctl -w -l "$pg/log" -o "-c listen_addresses=127.0.0.1 -c unix_socket_directories= -p $pg_port" start >/dev/null
export FAIRSET_PG="postgres://postgres@127.0.0.1:$pg_port/postgres?sslmode=disable"
echo "$("$pg_bin/postgres" --version) on port $pg_port"

say "Format and vet"
unformatted=$(gofmt -l $(git ls-files '*.go'))
[ -z "$unformatted" ] || { printf 'not gofmt-ed:\n%s\n' "$unformatted"; exit 1; }
go vet ./...
go mod verify
go mod tidy -diff

say "Lint"
go tool staticcheck ./...

say "Known vulnerabilities"
# The database lives on the network; without it this says so instead of passing.
if out=$(go tool govulncheck ./... 2>&1); then
  tail -n 3 <<<"$out"
elif grep -qiE 'dial|lookup|connection|timeout|fetching|proxy|forbidden|http' <<<"$out" && ! grep -q 'Vulnerability #' <<<"$out"; then
  echo "NOT CHECKED: the vulnerability database cannot be reached from here"
  tail -n 2 <<<"$out"
else
  printf '%s\n' "$out"; exit 1
fi

say "Tests"
go test -timeout 20m $(go list ./... | grep -vE '/internal/(journey|load)$') # these two have their own steps

say "A served shop under load, and killed 50 times"
# FAIRSET_LOAD=5m ./check.sh has the 200 benches work for five minutes.
FAIRSET_LOAD="${FAIRSET_LOAD:-8s}" FAIRSET_KILLS="${FAIRSET_KILLS:-50}" go test -count=1 -timeout 30m -v -run 'Benches|Killed' ./internal/load | grep -E '^(ok|FAIL|---|panic)|saves|kills'

say "The shared service, with the race detector"
CGO_ENABLED=1 go test -race -timeout 20m ./internal/shop ./internal/store

say "Journeys in a real browser"
FAIRSET_JOURNEY=must go test -count=1 -parallel 3 -timeout 20m ./internal/journey/...

say "The fuzz targets of every parser, briefly"
# Counted runs: a time limit that ends while a run is under way is reported as a failure.
# The HTTP interface reads with the same parsers; its own target runs its seeds as an ordinary test above.
for pkg in $(go list ./unit/... ./craft/... ./figure/... ./drawing/...); do
  for target in $(go test -list '^Fuzz' "$pkg" | grep '^Fuzz' || true); do
    go test -run '^$' -fuzz "^$target\$" -fuzztime "${FUZZTIME:-2000x}" "$pkg"
  done
done

say "Builds for other machines, without cgo"
for where in linux/arm64 darwin/arm64 windows/amd64; do
  CGO_ENABLED=0 GOOS=${where%/*} GOARCH=${where#*/} go build -trimpath -buildvcs=false -o /dev/null ./cmd/fairset
  echo "$where builds"
done

say "A release, built twice from two folders, is the same byte for byte"
again=$(mktemp -d)
trap 'rm -rf "$again"; stop_pg' EXIT
git clone -q . "$again/fairset"
(cd "$again/fairset" && CONTENTS=no MACHINES=linux/arm64 bash release.sh v0.0.0-check >/dev/null && cp -r dist "$again/first")
mv "$again/fairset" "$again/elsewhere"
(cd "$again/elsewhere" && CONTENTS=no MACHINES=linux/arm64 bash release.sh v0.0.0-check >/dev/null && diff -r dist "$again/first")
echo "the same"

say "All checks passed"
