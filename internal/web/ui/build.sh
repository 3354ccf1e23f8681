#!/bin/sh
# Builds ../dist from src: the page and the licences of what it is built with; and SOURCES.txt, the checksums of the sources
# that dist is built from. Built into another folder, for comparison, it leaves SOURCES.txt as it is.
# It needs npm (for the pinned packages of package-lock.json) and Go (for esbuild, from tools/go.mod).
set -eu
cd "$(dirname "$0")"
out="${1:-../dist}"
mkdir -p "$out"
out=$(cd "$out" && pwd)
here=$(pwd)
[ -d node_modules ] || npm ci --ignore-scripts --no-audit --no-fund
[ -n "${LAMPWRIGHT_NO_TYPES:-}" ] || node_modules/.bin/tsc -p .
rm -f "$out"/*
(cd ../../../tools && go tool esbuild "page=$here/src/app.tsx" --bundle --minify --splitting --format=esm --target=es2022 \
	--jsx=automatic --jsx-import-source=preact --preserve-symlinks --legal-comments=none --charset=utf8 --log-level=warning \
	--entry-names='[name]' --chunk-names='[name]-[hash]' --outdir="$out")
# What the page's script imports is asked for with it, not after it; what views import that come later is not.
imports() { (cd "$out" && cat "$@" | grep -oE '(from|import)"\./chunk-[0-9A-Z]+\.js"' | grep -oE 'chunk-[0-9A-Z]+\.js' | sort -u); }
first=$(imports page.js)
preload=$({ echo "$first"; imports $first || true; } | sort -u | sed 's|.*|<link rel="modulepreload" href="/assets/&">|')
awk -v preload="$preload" '/<script type="module"/ { print preload } { print }' index.html >"$out/index.html"
{
	echo "The page of Lampwright's workspace holds parts of these packages, each under its licence."
	for p in preact @preact/signals @preact/signals-core uplot three; do
		printf '\n== %s %s\n\n' "$p" "$(node -p "require('./node_modules/$p/package.json').version")"
		cat "node_modules/$p/LICENSE"
	done
} >"$out/NOTICES.txt"
if [ $# = 0 ]; then
	sha256sum index.html package.json package-lock.json tsconfig.json build.sh src/* >SOURCES.txt
fi
