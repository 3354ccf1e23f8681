package web

import (
	"crypto/subtle"
	"mime"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"time"
)

// policy lets a page load scripts, styles, pictures and data from here only, and no script or style in the page itself.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// tokenCookie names the cookie by the port: a browser gives cookies to every port of a host alike, and two servers
// would take each other's away.
func tokenCookie(addr net.Addr) string {
	if t, ok := addr.(*net.TCPAddr); ok {
		return "lampwright-" + strconv.Itoa(t.Port)
	}
	return "lampwright"
}

// answerTime bounds how long an answer may take to be written.
const answerTime = 30 * time.Second

// guard checks every request before it is served:
//   - the Host names this server: a name that another site made point here (DNS rebinding) is refused;
//
// - a request that a browser says comes from another origin is refused, a post must say that it comes from here,
// and it
//
//	  must be JSON, which a form of another site cannot send;
//	- where there is a token, every request carries it, in a cookie or a header;
//	- answers forbid script within the page, foreign content, frames and sniffing.
func guard(addr net.Addr, token string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(answerTime)) // a test's recorder has none
		switch {
		case !hostAllowed(r.Host, addr):
			refuse(w, http.StatusMisdirectedRequest,
				"this server does not answer under the name "+strconv.Quote(r.Host)+"; open it by its address")
			return
		case !originAllowed(r):
			refuse(w, http.StatusForbidden, "the request comes from another page, and is refused")
			return
		case r.Method != http.MethodGet && r.Method != http.MethodHead && !isJSON(r):
			refuse(w, http.StatusUnsupportedMediaType, "send requests as application/json")
			return
		}
		if token != "" {
			if given := r.URL.Query().Get("token"); given != "" && r.Method == http.MethodGet && r.URL.Path == "/" &&
				same(given, token) {
				http.SetCookie(w, &http.Cookie{
					Name: tokenCookie(addr), Value: token, Path: "/", HttpOnly: true,
					SameSite: http.SameSiteStrictMode,
				})
				http.Redirect(w, r, "/", http.StatusSeeOther)
				return
			}
			if !carries(r, tokenCookie(addr), token) {
				refuse(w, http.StatusUnauthorized, "open the address with the token that `lampwright serve` printed")
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}

// hostAllowed reports whether a Host header names this server: its port, and localhost or an address written in
// numbers, which no foreign site can make its own. On a loopback address the host must be a loopback one too.
func hostAllowed(host string, addr net.Addr) bool {
	t, ok := addr.(*net.TCPAddr)
	if !ok {
		return false
	}
	port := "80"
	if _, p, err := net.SplitHostPort(host); err == nil {
		port = p
	}
	if port != strconv.Itoa(t.Port) {
		return false
	}
	name := hostOnly(host)
	ip := net.ParseIP(name)
	if loopback(addr) {
		return name == "localhost" || ip != nil && ip.IsLoopback()
	}
	return name == "localhost" || ip != nil
}

// originAllowed reports whether a request may come from where its browser says it comes from.
func originAllowed(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" && site != "none" {
		// A link from elsewhere may open the page itself, and nothing more.
		if r.Method != http.MethodGet || r.URL.Path != "/" || r.Header.Get("Sec-Fetch-Mode") != "navigate" {
			return false
		}
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return r.Method == http.MethodGet || r.Method == http.MethodHead
	}
	u, err := url.Parse(origin)
	return err == nil && u.Scheme == "http" && u.Host == r.Host
}

func isJSON(r *http.Request) bool {
	t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && t == "application/json"
}

func carries(r *http.Request, cookie, token string) bool {
	if c, err := r.Cookie(cookie); err == nil && same(c.Value, token) {
		return true
	}
	return same(r.Header.Get("X-Lampwright-Token"), token)
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

func refuse(w http.ResponseWriter, status int, why string) {
	answer(w, status, failure{Error: why})
}
