package web

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// browser starts Debian's Chromium. Without one the test is skipped, except in CI, where that is a failure.
func browser(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("no chromium here; tools/test installs it")
		}
		t.Skip("no chromium here")
	}
	alloc, cancel := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()), chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless,
		chromedp.NoSandbox, chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-quic", true), chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true))
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	do(t, ctx, "start the browser")
	return ctx
}

// tab opens another tab of a browser, with a time limit.
func tab(t *testing.T, browser context.Context) context.Context {
	t.Helper()
	ctx, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	do(t, ctx, "open a tab")
	ctx, cancel := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

type step = chromedp.Action[chromedp.Void]

// do runs steps in a tab.
func do(t *testing.T, ctx context.Context, what string, steps ...step) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
}

// size makes the window so large, light or dark.
func size(width, height int64, dark bool) step {
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	return chromedp.Steps(chromedp.EmulateViewport(width, height), func(ctx context.Context, tab *chromedp.Target) (v chromedp.Void, err error) {
		_, err = chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
			{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
		}})
		return v, err
	})
}

// truth waits until a JavaScript expression is true.
func truth(expression string) step {
	return chromedp.Poll[chromedp.Void](expression, chromedp.WithPollingInterval(20*time.Millisecond), chromedp.WithPollingTimeout(60*time.Second))
}

// js runs a script for what it does.
func js(script string) step { return chromedp.Evaluate[chromedp.Void](script) }

// computed waits until the figures of the file are shown.
func computed() step {
	return truth(`document.querySelector('.sum:not(.stale) .counts') && !document.querySelector('.status progress')`)
}

// click presses the button that has these words.
func click(words string) step {
	return chromedp.Steps(truth(fmt.Sprintf(`[...document.querySelectorAll('button')].some(b => b.textContent.includes(%q) && !b.disabled)`, words)),
		js(fmt.Sprintf(`[...document.querySelectorAll('button')].find(b => b.textContent.includes(%q) && !b.disabled).click()`, words)))
}

// ask evaluates an expression.
func ask[T any](t *testing.T, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

var viewKeys = []string{"review", "place", "channels", "board", "colour", "watts", "figures", "compare", "file"}

// TestShots writes a picture of every view, wide and narrow, light and dark, into the folder that LAMPWRIGHT_SHOTS names.
func TestShots(t *testing.T) {
	dir := os.Getenv("LAMPWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("set LAMPWRIGHT_SHOTS to a folder to get pictures of every view")
	}
	only := os.Getenv("LAMPWRIGHT_SHOTS_ONLY")
	_, ts := serve(t, demo(t, "planted-tank-first"))
	ctx := tab(t, browser(t))
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed())
	for _, width := range []int64{1440, 390} {
		for _, dark := range []bool{false, true} {
			for _, key := range viewKeys {
				name := fmt.Sprintf("%s-%d-%v.png", key, width, map[bool]string{true: "dark", false: "light"}[dark])
				if only != "" && !strings.Contains(name, only) {
					continue
				}
				do(t, ctx, name, size(width, 900, dark), chromedp.Navigate(ts.URL+"/#"+key), chromedp.Reload(), computed(), chromedp.Sleep(300*time.Millisecond))
				if key == "place" {
					do(t, ctx, "3-D", click("3-D"), chromedp.Sleep(1500*time.Millisecond))
				}
				png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, name), png, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}
