//go:build unix

package cli

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// started runs this program as a process of its own.
func started(t *testing.T, out io.Writer, in io.Reader, args ...string) (cmd *exec.Cmd, errOut *bytes.Buffer) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	errOut = &bytes.Buffer{}
	cmd = &exec.Cmd{
		Path: self, Args: append([]string{"lampwright"}, args...), Stdin: in, Stdout: out, Stderr: errOut,
		Env: os.Environ(),
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, errOut
}

// TestFullDisk prints to a device that takes nothing: the status is 2, and the message says why.
func TestFullDisk(t *testing.T) {
	for _, args := range [][]string{
		{"parts"},
		{"parts", "--json"},
		{"format"},
		{"--help"},
		{"--version"},
		{"completion", "bash"},
		{"review", "--short", "../../examples/propagation-bench"},
		{"bom", "../../examples/propagation-bench"},
	} {
		full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
		if err != nil {
			t.Skip("this system has no /dev/full")
		}
		cmd, text := started(t, full, nil, args...)
		_ = cmd.Wait()
		full.Close()
		if got := cmd.ProcessState.ExitCode(); got != statusBad ||
			strings.Count(text.String(), "\n") != 1 || !strings.Contains(text.String(), "no space left on device") {
			t.Errorf("%q on a full disk: status %d, %q", args, got, text)
		}
	}
}

// TestOutputKeepsError writes after an error: the first error stays, and nothing more is written.
func TestOutputKeepsError(t *testing.T) {
	r, w := io.Pipe()
	r.Close()
	o := &output{w: w}
	for range 2 {
		if n, err := o.Write([]byte("x")); n != 0 || err != io.ErrClosedPipe {
			t.Errorf("Write after an error = %d, %v", n, err)
		}
	}
	if o.err != io.ErrClosedPipe {
		t.Errorf("kept error %v", o.err)
	}
}

// interrupted sends signals to a command, each after a time in which it starts or stops, and returns its state, and
// whether it had ended before the first.
func interrupted(t *testing.T, cmd *exec.Cmd, signals int) (state *os.ProcessState, early bool) {
	t.Helper()
	ended := make(chan struct{})
	go func() {
		_ = cmd.Wait()
		close(ended)
	}()
	for i := range signals {
		select {
		case <-ended:
			early = early || i == 0
		case <-time.After(700 * time.Millisecond):
		}
		_ = cmd.Process.Signal(os.Interrupt)
	}
	select {
	case <-ended:
	case <-time.After(20 * time.Second):
		_ = cmd.Process.Kill()
		t.Fatalf("%q goes on after %d signals", cmd.Args, signals)
	}
	return cmd.ProcessState, early
}

// TestInterrupted ends verify by one Ctrl-C with a status that is not 0, and a command that waits for its input by two.
func TestInterrupted(t *testing.T) {
	cmd, text := started(t, io.Discard, nil, "verify")
	state, early := interrupted(t, cmd, 1)
	if !early && (state.ExitCode() != statusBad || !strings.Contains(text.String(), "stopped")) {
		t.Errorf("verify, interrupted: %v, %q", state, text)
	}
	in, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	cmd, _ = started(t, io.Discard, in, "spectrum", "-")
	in.Close()
	state, _ = interrupted(t, cmd, 2)
	if wait, ok := state.Sys().(syscall.WaitStatus); !ok || wait.Signal() != syscall.SIGINT {
		t.Errorf("a command that waits for its input, after two signals: %v", state)
	}
}

// TestHighLamp reviews a lamp at 10 km: it ends.
func TestHighLamp(t *testing.T) {
	dir := demoFolder(t, "long-tank")
	path := filepath.Join(dir, "lamp.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(data), "\n")
	for i, l := range lines {
		if strings.Contains(l, "hanging_height:") {
			lines[i] = "  hanging_height: 1e4 m"
		}
	}
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	if status, text := mainWithin(t, []string{"review", "--short", dir}); status != statusFound {
		t.Errorf("a lamp at 10 km: status %d, %q", status, text)
	}
}
