package cli

import (
	"bytes"
	"fmt"
	"net"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing/qrcode/decoder"

	"lampwright/internal/partslib"
	"lampwright/internal/web"
)

// modules returns the modules of a printed QR code without its margin of four.
func modules(t *testing.T, lines []string) [][]bool {
	t.Helper()
	const qrQuiet = 4
	var all [][]bool
	for _, line := range lines {
		var above, below []bool
		for _, c := range line {
			above = append(above, c == '█' || c == '▀')
			below = append(below, c == '█' || c == '▄')
		}
		all = append(all, above, below)
	}
	side := len(all[0]) - 2*qrQuiet
	var out [][]bool
	for y, row := range all {
		for x, dark := range row {
			inside := y >= qrQuiet && y < qrQuiet+side && x >= qrQuiet && x < qrQuiet+side
			if dark && !inside {
				t.Fatalf("the margin is dark at %d, %d", x, y)
			}
		}
		if y >= qrQuiet && y < qrQuiet+side {
			out = append(out, row[qrQuiet:qrQuiet+side])
		}
	}
	return out
}

// TestQRDecodes: what is printed is read by the decoder of a library that has nothing to do with the encoder.
func TestQRDecodes(t *testing.T) {
	for _, ip := range []string{"192.168.178.123", "10.0.0.1", "fd00:1234:5678:9abc:def0:1234:5678:9abc"} {
		want := pageAt(net.ParseIP(ip), 43210, web.NewToken())
		lines, err := qrLines(want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := decoder.NewDecoder().DecodeBoolMapWithoutHint(modules(t, lines))
		if err != nil {
			t.Fatalf("%s: %v\n%s", want, err, strings.Join(lines, "\n"))
		}
		if got.GetText() != want {
			t.Errorf("it reads %q, want %q", got.GetText(), want)
		}
		if w := displayWidth(lines[0]); w > 60 {
			t.Errorf("%s: %d columns; a terminal has 80", want, w)
		}
	}
}

// TestQROnlyInTerminal: the code is printed in colours of its own that remain in the output, and nowhere else.
func TestQROnlyInTerminal(t *testing.T) {
	for _, tt := range []struct {
		colour bool
		width  int
		want   bool
	}{{true, 80, true}, {false, 80, false}, {true, 40, false}} {
		var b bytes.Buffer
		r := &run{out: &output{w: &visibleWriter{w: &b, styles: tt.colour}}, width: tt.width, colour: tt.colour}
		if err := r.printQR("http://" + "192.168.178.123:43210/?token=0123456789abcdef0123456789abcdef"); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(b.String(), "\x1b[38;5;16;48;5;231m   "); got != tt.want {
			t.Errorf("%+v: printed %q", tt, b.String())
		}
		if !tt.want && b.Len() > 0 {
			t.Errorf("%+v: printed %q", tt, b.String())
		}
	}
}

// TestReachOrder: the address towards other networks first, then those of IPv4.
func TestReachOrder(t *testing.T) {
	ip := net.ParseIP
	list := []reach{{"a", ip("fd00::1")}, {"bridge", ip("172.17.0.1")}, {"wlan", ip("192.168.1.5")}}
	sortReach(list, ip("192.168.1.5"))
	if got := strings.Join([]string{list[0].name, list[1].name, list[2].name}, " "); got != "wlan bridge a" {
		t.Error(got)
	}
}

// TestReachable: a server on all interfaces prints an address for each that a browser can open, with its token, and no
// name: the guard against foreign names stays.
func TestReachable(t *testing.T) {
	for _, on := range []string{"0.0.0.0:0", "[::]:0", "IPv4 alone"} {
		network, address := "tcp", on
		if on == "IPv4 alone" {
			network, address = "tcp4", "0.0.0.0:0"
		}
		l, err := net.Listen(network, address)
		if err != nil {
			t.Skipf("%s: %v", on, err) // a machine without IPv6
		}
		at := l.Addr().(*net.TCPAddr)
		token := web.NewToken()
		s, err := web.New(web.Options{Folder: t.TempDir(), Library: partslib.Files(), Addr: at, Token: token})
		if err != nil {
			t.Fatal(err)
		}
		ended := make(chan error, 1)
		go func() { ended <- s.Serve(t.Context(), l) }()
		var b bytes.Buffer
		r := &run{out: &output{w: &b}, width: 80}
		if err := r.printReach(at, token); err != nil {
			t.Fatal(err)
		}
		addresses := regexp.MustCompile(`(?m)^  \S+  (http:\S+)$`).FindAllStringSubmatch(b.String(), -1)
		if list, err := reachable(at.IP); err != nil || len(list) != len(addresses) {
			t.Errorf("%s: %d addresses of %v (%v) in\n%s", on, len(addresses), list, err, &b)
		}
		for _, a := range addresses {
			if at.IP.To4() != nil && strings.Contains(a[1], "[") {
				t.Errorf("%s: %s cannot be reached", on, a[1])
			}
			for host, want := range map[string]int{
				"": http.StatusSeeOther, "lamp.example": http.StatusMisdirectedRequest,
			} {
				req, err := http.NewRequest(http.MethodGet, a[1], nil)
				if err != nil {
					t.Fatal(err)
				}
				if host != "" {
					req.Host = fmt.Sprintf("%s:%d", host, at.Port)
				}
				resp, err := http.DefaultTransport.RoundTrip(req)
				if err != nil {
					t.Errorf("%s: %v", a[1], err)
					continue
				}
				resp.Body.Close()
				if resp.StatusCode != want {
					t.Errorf("%s as %q: %d, want %d", a[1], host, resp.StatusCode, want)
				}
			}
		}
	}
}
