package controller

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// twinCase is a case that runs in Go and in C.
type twinCase struct {
	name   string
	image  []byte
	config Config // of the random course; that of the image unless the image is damaged
	nodes  *Trace // a stated course; nil: a random one
	ticks  int64
	utc    uint32
	seed   uint32
	boots  int
}

// twinCases returns the open cases and n random configurations with random courses of faults; one in ten has a damaged
// image.
func twinCases(t *testing.T, n int, openTicks, ticks int64) (out []twinCase) {
	t.Helper()
	for _, o := range statedTraces() {
		image, err := o.trace.Config.Image()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, twinCase{
			name: o.name, image: image, nodes: &o.trace, utc: uint32(o.trace.UTC0),
			ticks: min(openTicks, o.trace.Ticks),
		})
	}
	for seed := range uint64(n) {
		d := newDice(seed + 1000)
		c := twinCase{name: fmt.Sprintf("random %d", seed), config: d.config(), ticks: ticks, boots: d.IntN(8)}
		c.utc, c.seed = uint32(d.in(0, max32)), uint32(seed)*2654435761+1
		image, err := c.config.Image()
		if err != nil {
			t.Fatal(err)
		}
		switch seed % 20 {
		case 7:
			image[d.IntN(len(image))] ^= 1 << d.IntN(8)
		case 17:
			image = image[:d.IntN(len(image))]
		}
		c.image = image
		out = append(out, c)
	}
	return out
}

// crc returns the CRC-32 over all outputs of a case in Go.
func (c *twinCase) crc(t *testing.T) string {
	var inputs func(int64) Inputs
	if c.nodes != nil {
		inputs = c.nodes.inputs()
	} else {
		f := newFuzzer(c.seed, &c.config, c.utc)
		inputs = func(int64) Inputs { return f.next() }
	}
	s := summarizer{ticks: c.ticks, crc: crc32.NewIEEE()}
	if err := Simulate(t.Context(), New(c.image, c.boots), c.ticks, inputs, s.see); err != nil {
		t.Fatal(err)
	}
	s.flush()
	return fmt.Sprintf("%08x", s.crc.Sum32())
}

// statedTraces are the open traces and one with five dips of the supply.
func statedTraces() []openTrace {
	dips := Trace{Config: openConfig(), Ticks: 8000, UTC0: 862657200, CRCOK: true, Signals: fiveDips()}
	return append(openTraces(), openTrace{name: "five dips", trace: dips})
}

// caseSource returns the cases as C source.
func caseSource(cases []twinCase) []byte {
	var b, table bytes.Buffer
	b.WriteString("#include \"runner.h\"\n\n")
	for i, c := range cases {
		fmt.Fprintf(&b, "static const uint8_t image_%d[] FLASH = {%s\n};\n", i,
			numbers(append(slices.Clone(c.image), 0), "0x%02XU", 16))
		nodes := "0"
		if c.nodes != nil {
			nodes = fmt.Sprintf("nodes_%d", i)
			s := &c.nodes.Signals
			var list []string
			for _, sig := range []struct {
				nodes [][2]int64
				other int64
			}{
				{s.VinMV, defaults.vinMV},
				{s.RTCOK, defaults.rtcOK},
				{s.UTCShift, defaults.utcShift},
				{s.RPM, defaults.rpm},
				{s.ADC, defaults.adc},
			} {
				sig := newSignal(sig.nodes, sig.other)
				list = append(list, fmt.Sprintf("%dU", len(sig.nodes)))
				for _, n := range sig.nodes {
					list = append(list, fmt.Sprintf("%dU, %dU", uint32(n[0]), uint32(n[1])))
				}
			}
			fmt.Fprintf(&b, "static const uint32_t nodes_%d[] FLASH = {%s};\n", i, strings.Join(list, ", "))
		}
		fmt.Fprintf(&table, "\t{image_%d, %s, UINT32_C(%d), UINT32_C(%d), UINT32_C(%d), %dU, %dU},\n",
			i, nodes, c.ticks, c.utc, c.seed, len(c.image), c.boots)
	}
	fmt.Fprintf(&b, "\nconst test_case test_cases[] = {\n%s};\nconst uint16_t test_count = %dU;\n",
		table.Bytes(), len(cases))
	return b.Bytes()
}

// firmwareFolder writes the firmware of the open configuration, the runner and the cases into a folder.
func firmwareFolder(t *testing.T, cases []twinCase) string {
	t.Helper()
	dir := t.TempDir()
	files, err := Sources(Firmware{Title: "test", Config: openConfig()})
	if err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob("testdata/twin/*")
	if err != nil || len(names) < 8 {
		t.Fatalf("%v, %v", names, err)
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, File{filepath.Base(name), data})
	}
	for _, f := range append(files, File{"cases.c", caseSource(cases)}) {
		if err := os.WriteFile(filepath.Join(dir, f.Name), f.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// need skips a test where a program is not installed.
func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			t.Skipf("%s is not installed (tools/test installs it on Debian)", p)
		}
	}
}

// run runs a command in a folder and returns its output; it ends the test where the command fails.
func run(t *testing.T, dir string, limit time.Duration, stdin []byte, command ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), limit)
	defer cancel()
	cmd := exec.CommandContext(ctx, command[0], command[1:]...)
	cmd.Dir, cmd.Stdin, cmd.WaitDelay = dir, bytes.NewReader(stdin), time.Second
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%.4000s", strings.Join(command, " "), err, out)
	}
	return string(out)
}

// warnings are the flags that every file of the firmware compiles with.
var warnings = []string{"-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-Wconversion", "-Wshadow"}

// target is a machine that runs the core.
type target struct {
	name     string
	programs []string
	compile  []string
	execute  []string
	cases    int
	open     int64 // ticks of the open cases at most
	ticks    int64 // of the random ones
}

func targets() []target {
	const elf = "runner.elf"
	free := []string{"-ffreestanding", "-nostdlib", "-Os", "-o", elf}
	files := []string{"lc1.c", "lc1_lut.c", "runner.c", "cases.c"}
	return []target{
		{
			"x86",
			[]string{"gcc"},
			slices.Concat([]string{
				"gcc", "-O1", "-g", "-fsanitize=undefined,address", "-fno-sanitize-recover=all",
				"-o", elf, "port_host.c",
			}, files, warnings),
			[]string{"./" + elf},
			200, 1 << 40, 3000,
		},
		{
			"Cortex-M3",
			[]string{"arm-none-eabi-gcc", "qemu-system-arm"},
			slices.Concat([]string{"arm-none-eabi-gcc", "-mcpu=cortex-m3", "-mthumb", "-T", "m3.ld"}, free, files,
				[]string{"port_m3.c", "-lgcc"}),
			[]string{
				"qemu-system-arm", "-M", "mps2-an385", "-display", "none", "-monitor", "none", "-serial", "none",
				"-semihosting-config", "enable=on,target=native", "-kernel", elf,
			},
			200, 1 << 40, 3000,
		},
		{
			"RV32",
			[]string{"riscv64-unknown-elf-gcc", "qemu-system-riscv32"},
			slices.Concat([]string{"riscv64-unknown-elf-gcc", "-march=rv32imac", "-mabi=ilp32", "-T", "rv32.ld"}, free,
				files, []string{"port_rv32.c", "-lgcc"}),
			[]string{
				"qemu-system-riscv32", "-M", "virt", "-bios", "none", "-display", "none", "-monitor", "none",
				"-serial", "stdio", "-kernel", elf,
			},
			200, 1 << 40, 3000,
		},
		{
			"AVR",
			[]string{"avr-gcc", "simavr"},
			slices.Concat([]string{
				"avr-gcc", "-mmcu=atmega1284p", "-Os", "-std=c99", "-Wall", "-Wextra", "-Werror",
				"-pedantic", "-o", elf, "port_avr.c",
			}, files),
			[]string{"simavr", "-m", "atmega1284p", "-f", "16000000", elf},
			40, 2400, 200,
		},
	}
}

// printedCRCs returns the CRCs that a runner printed.
func printedCRCs(out string) (crcs []string) {
	for _, m := range regexp.MustCompile(`crc ([0-9a-f]{8})`).FindAllStringSubmatch(out, -1) {
		crcs = append(crcs, m[1])
	}
	return crcs
}

// Go and C agree bit for bit: the CRC-32 over every output of every step is equal for the open cases and for random
// configurations under random courses of faults, on four machines.
func TestTwins(t *testing.T) {
	for _, m := range targets() {
		if testing.Short() {
			if m.name != "x86" {
				continue
			}
			m.cases = 20
		}
		t.Run(m.name, func(t *testing.T) {
			need(t, m.programs...)
			cases := twinCases(t, m.cases, m.open, m.ticks)
			dir := firmwareFolder(t, cases)
			run(t, dir, 5*time.Minute, nil, m.compile...)
			got := printedCRCs(run(t, dir, 10*time.Minute, nil, m.execute...))
			if len(got) != len(cases) {
				t.Fatalf("%d results of %d cases", len(got), len(cases))
			}
			all, steps := crc32.NewIEEE(), int64(0)
			for i, c := range cases {
				want := c.crc(t)
				if got[i] != want {
					t.Errorf("%s: %s in C, %s in Go", c.name, got[i], want)
				}
				all.Write([]byte(got[i]))
				steps += c.ticks
				if c.nodes != nil {
					t.Logf("%-9s  %-11s  %6d steps  C %s  Go %s", m.name, c.name, c.ticks, got[i], want)
				}
			}
			t.Logf("%-9s  %d random    %6d steps  CRC of the CRCs %08x", m.name, m.cases, steps, all.Sum32())
		})
	}
}

// Both readers of images accept and refuse the same: every bit flipped, every length, every bound, random bytes with a
// right CRC.
func TestLoadTwins(t *testing.T) {
	need(t, "gcc")
	var images [][]byte
	cfg := openConfig()
	good, err := cfg.Image()
	if err != nil {
		t.Fatal(err)
	}
	images = append(images, good)
	for i := range good {
		images = append(images, good[:i])
		for bit := range 8 {
			flipped := slices.Clone(good)
			flipped[i] ^= 1 << bit
			images = append(images, flipped, sealed(slices.Clone(flipped)))
		}
	}
	for n := imageFixed + imageCRC; n < len(good); n++ {
		images = append(images, resized(good, n))
	}
	for _, b := range bounds {
		c := openConfig()
		b.change(&c)
		images = append(images, c.encode())
	}
	d := newDice(3)
	for range 3000 {
		c := d.config()
		image := c.encode()
		for range d.IntN(3) {
			image[d.IntN(len(image))] = byte(d.of(0, 1, 255, d.in(0, 255)))
		}
		images = append(images, sealed(image))
	}
	var stdin []byte
	var want strings.Builder
	for _, image := range images {
		stdin = append(binary.LittleEndian.AppendUint16(stdin, uint16(len(image))), image...)
		if _, err := ReadImage(image); err == nil {
			want.WriteByte('1')
		} else {
			want.WriteByte('0')
		}
	}
	dir := firmwareFolder(t, twinCases(t, 0, 1, 1))
	run(t, dir, 5*time.Minute, nil, targets()[0].compile...)
	got := run(t, dir, time.Minute, stdin, "./runner.elf", "load")
	verdicts, sum, _ := strings.Cut(strings.TrimSpace(got), " ")
	if sum != "cbf43926" {
		t.Errorf("CRC-32 of 123456789 is %s in C, want cbf43926 (DY22)", sum)
	}
	if verdicts != want.String() {
		for i := range images {
			if i >= len(verdicts) || verdicts[i] != want.String()[i] {
				t.Fatalf("image %d of %d: C and Go differ: %x", i, len(images), images[i])
			}
		}
	}
	if n := strings.Count(verdicts, "1"); n < 1000 || n > len(images)-3000 {
		t.Errorf("%d of %d images are accepted: the test has little of one kind", n, len(images))
	}
}

// The firmware compiles without a warning with the template of the hardware, and cppcheck finds nothing.
func TestFirmwareCompiles(t *testing.T) {
	need(t, "gcc")
	dir := firmwareFolder(t, nil)
	sources := []string{"lc1.c", "lc1_lut.c", "lc1_config.c", "lc1_app.c", "lc1_main.c", "lc1_hal_template.c"}
	run(t, dir, time.Minute, nil, slices.Concat([]string{"gcc", "-o", "lamp"}, warnings, sources)...)
	need(t, "cppcheck")
	run(t, dir, time.Minute, nil, slices.Concat([]string{
		"cppcheck", "-q", "--std=c99", "--error-exitcode=1",
		"--enable=warning,style,performance,portability",
	}, sources)...)
}

// Watchdog, count of unclean starts and store behave as the README of the firmware says, on a board of variables.
func TestApp(t *testing.T) {
	need(t, "gcc")
	dir := firmwareFolder(t, nil)
	run(t, dir, time.Minute, nil, slices.Concat([]string{
		"gcc", "-g", "-fsanitize=undefined,address",
		"-fno-sanitize-recover=all", "-o", "app", "app_test.c", "lc1.c", "lc1_lut.c", "lc1_config.c",
	}, warnings)...)
	if out := run(t, dir, time.Minute, nil, "./app"); out != "ok\n" {
		t.Error(out)
	}
}

// The template of the hardware, as it stands, keeps the lamp dark.
func TestTemplateIsDark(t *testing.T) {
	cfg := openConfig()
	image, err := cfg.Image()
	if err != nil {
		t.Fatal(err)
	}
	c := New(image, 0)
	for tick := range 1000 {
		if out := c.Step(Inputs{}); out.Duty != [MaxChannels]uint16{} {
			t.Fatalf("step %d: duties %v", tick, out.Duty)
		}
	}
}
