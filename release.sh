#!/usr/bin/env bash
# Builds everything that is handed out into dist/: one program for each machine, with checksums and a list of what
# is in it. The same commit built twice gives the same bytes.
#   bash release.sh [v1.2.3]     the version; without it, what git says
# MACHINES="linux/amd64" builds for fewer; CONTENTS=no leaves the lists of contents away.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

sbom=github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.10.0 # run by version, so that the program itself needs nothing of it
read -ra machines <<<"${MACHINES:-linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64}"

version=${1:-$(git describe --tags --always --dirty)}
[[ $version =~ ^[A-Za-z0-9._+-]+$ ]] || { echo "release: $version is no version: letters, digits, . _ + - only" >&2; exit 2; }
case $version in *-dirty) echo "release: the checkout has changes that are not committed; this release could not be made again" >&2; [ "${ALLOW_DIRTY:-}" = yes ] || exit 2 ;; esac
day=$(TZ=UTC0 git log -1 --date=format-local:%Y-%m-%d --format=%cd)
commit=$(git rev-parse HEAD)

out=dist
rm -rf "$out"
mkdir -p "$out"
for machine in "${machines[@]}"; do
  os=${machine%/*} arch=${machine#*/}
  name=fairset-$version-$os-$arch
  [ "$os" = windows ] && name=$name.exe
  CGO_ENABLED=0 GOOS=$os GOARCH=$arch go build -trimpath -buildvcs=false \
    -ldflags "-s -w -buildid= -X fairset/internal/cli.released=$version -X fairset/internal/cli.releasedCommit=$commit -X fairset/internal/cli.releasedDay=$day" \
    -o "$out/$name" ./cmd/fairset
  [ "${CONTENTS:-}" = no ] || GOOS= GOARCH= GOFLAGS=-mod=mod go run "$sbom" bin -json -noserial -notimestamp -version "$version" -output "$out/$name.cdx.json" "$out/$name"
  echo "built $name"
done

# The licences of every library inside, which ask to go along with it.
go list -deps -f '{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}} {{.Dir}}{{end}}{{end}}' ./cmd/fairset | sort -u | while read -r path at dir; do
  found=0
  for f in "$dir"/{LICENSE,LICENCE,COPYING,NOTICE}*; do
    [ -f "$f" ] || continue
    found=1
    printf '\n======== %s %s: %s\n\n' "$path" "$at" "$(basename "$f")"
    cat "$f"
  done
  [ $found = 1 ] || { echo "release: $path $at has no licence text" >&2; exit 1; }
done >"$out/LICENCES.txt"
cat "$(go env GOROOT)/LICENSE" >>"$out/LICENCES.txt"
for f in $(git ls-files '*/LICENSE*' '*/OFL*' '*/LICENCE*'); do printf '\n======== %s\n\n' "$f" && cat "$f"; done >>"$out/LICENCES.txt"
(cd "$out" && sha256sum -- * > SHA256SUMS)
echo "dist/ holds fairset $version of $day: $(du -sh "$out" | cut -f1)"
