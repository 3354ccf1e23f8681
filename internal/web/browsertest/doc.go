// Package browsertest tests the workspace's page in Chromium: it opens the page as a person does, types, clicks and
// reads.
//
// In: the server of package web over copies of the demos, and one Chromium process for all tests.
// Out: test failures; with LAMPWRIGHT_SHOTS a picture of every view.
// Assumes: chromium on the path; without it, and with -short, the tests are skipped.
// Leaves to others: answers of the server (web), and modules of the page without a screen (ui/test).
//
// It is a module of its own, so that the browser driver is not a dependency of the program. Its tests are run by
// tools/test, or by `go test -C internal/web/browsertest ./...`.
package browsertest
