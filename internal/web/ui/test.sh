#!/bin/sh
# Runs the unit tests of the page's pure modules: test/*.test.ts, bundled by esbuild, under node's own test runner.
set -eu
cd "$(dirname "$0")"
if ! command -v node >/dev/null 2>&1; then
	echo "node is not installed, so the unit tests of the page's sources are skipped" >&2
	exit 0
fi
here=$(pwd)
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
(cd ../../../tools && go tool esbuild "$here"/test/*.test.ts --bundle --platform=node --format=esm --log-level=warning \
	--preserve-symlinks --out-extension:.js=.mjs --outdir="$out")
node --test "$out"
