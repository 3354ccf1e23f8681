package cli

import (
	"cmp"
	"net"
	"net/url"
	"slices"
	"strconv"
)

// reach is an address of this machine under which others can reach it.
type reach struct {
	name string // of the interface
	ip   net.IP
}

// reachable returns the addresses of this machine that a listener on an unspecified address answers under: those of
// IPv4 alone where the system opened it so. The address that packets to other networks leave from is the first, then
// IPv4. Link-local addresses are left out: a browser cannot name their interface.
func reachable(on net.IP) ([]reach, error) {
	list, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	var out []reach
	for _, i := range list {
		if i.Flags&net.FlagUp == 0 || i.Flags&net.FlagLoopback != 0 {
			continue
		}
		addresses, err := i.Addrs()
		if err != nil {
			return nil, err
		}
		for _, a := range addresses {
			n, ok := a.(*net.IPNet)
			if ok && n.IP.IsGlobalUnicast() && (on.To4() == nil || n.IP.To4() != nil) {
				out = append(out, reach{i.Name, n.IP})
			}
		}
	}
	sortReach(out, outward())
	return out, nil
}

// sortReach puts one address first, then those of IPv4.
func sortReach(list []reach, first net.IP) {
	rank := func(r reach) int {
		switch {
		case r.ip.Equal(first):
			return 0
		case r.ip.To4() != nil:
			return 1
		}
		return 2
	}
	slices.SortStableFunc(list, func(a, b reach) int { return cmp.Compare(rank(a), rank(b)) })
}

// outward returns the address of this machine from which packets to other networks leave, or nil. Nothing is sent: a
// UDP socket only selects its route. The address asked for is one of documentation, which nobody has (RFC 5737).
func outward() net.IP {
	c, err := net.Dial("udp4", "198.51.100.1:9")
	if err != nil {
		return nil
	}
	defer c.Close()
	return c.LocalAddr().(*net.UDPAddr).IP
}

// pageAt returns the address of the page on a host, with its token.
func pageAt(ip net.IP, port int, token string) string {
	page := url.URL{Scheme: "http", Host: net.JoinHostPort(ip.String(), strconv.Itoa(port)), Path: "/"}
	if token != "" {
		page.RawQuery = url.Values{"token": {token}}.Encode()
	}
	return page.String()
}
