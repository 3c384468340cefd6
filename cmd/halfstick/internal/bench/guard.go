package bench

import (
	"crypto/rand"
	"crypto/subtle"
	"net"
	"net/http"
	"os"
	"strings"
)

// policy lets a page use what this server sends and nothing else: no inline
// script or style, no outside request, no frame around it.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// tokenHeader carries the token of a request that changes something. A page of
// another origin can neither read the token nor send the header unasked.
const tokenHeader = "X-Halfstick-Token"

// guard lets requests through that come from a page of this server in a browser
// that was given the token.
type guard struct {
	token string
	name  string // of this machine
	next  http.Handler
}

func newGuard(token string, next http.Handler) *guard {
	name, _ := os.Hostname() // without a name, addresses must do
	return &guard{token: token, name: strings.ToLower(name), next: next}
}

// newToken makes a token of at least 128 random bits.
func newToken() string { return rand.Text() }

func (g *guard) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	if !g.isOurs(r) {
		refuse(w, http.StatusMisdirectedRequest, "this is not the address of the bench; open the one that it printed")
		return
	}
	if r.Method == http.MethodGet && r.URL.Path == "/" && r.URL.Query().Has("token") {
		g.admit(w, r)
		return
	}
	cookie, err := r.Cookie(cookieName(r))
	if err != nil || !g.matches(cookie.Value) {
		refuse(w, http.StatusForbidden, "this browser has not been let in; open the address with the token that the bench printed")
		return
	}
	switch r.Method {
	case http.MethodGet, http.MethodHead:
	case http.MethodPost:
		if r.Header.Get("Origin") != "http://"+r.Host {
			refuse(w, http.StatusForbidden, "the request comes from another page")
			return
		}
		if !g.matches(r.Header.Get(tokenHeader)) {
			refuse(w, http.StatusForbidden, "the page has an old token; load it anew")
			return
		}
	default:
		h.Set("Allow", "GET, HEAD, POST")
		refuse(w, http.StatusMethodNotAllowed, "the bench takes GET and POST")
		return
	}
	g.next.ServeHTTP(w, r)
}

// admit gives the browser a cookie for the token in the address, and takes the
// token out of the address bar.
func (g *guard) admit(w http.ResponseWriter, r *http.Request) {
	if !g.matches(r.URL.Query().Get("token")) {
		refuse(w, http.StatusForbidden, "the token in the address is not the bench's; open the address that it printed last")
		return
	}
	http.SetCookie(w, &http.Cookie{
		Name: cookieName(r), Value: g.token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func (g *guard) matches(token string) bool {
	return subtle.ConstantTimeCompare([]byte(token), []byte(g.token)) == 1
}

// isOurs tells whether the request names the address that it came in on, or
// this machine's own name. Any other name may be one that somebody has pointed
// at this machine so that a page of theirs counts as ours.
func (g *guard) isOurs(r *http.Request) bool {
	local, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return false
	}
	host, port := split(r.Host)
	address, bound := split(local.String())
	if port != bound {
		return false
	}
	if host == address {
		return true
	}
	if ip := net.ParseIP(address); ip != nil && ip.IsLoopback() {
		return host == "localhost"
	}
	return g.name != "" && (host == g.name || host == g.name+".local")
}

// split parts a host from its port, which is 80 where none is named.
func split(hostport string) (host, port string) {
	host, port, err := net.SplitHostPort(hostport)
	if err != nil {
		return strings.ToLower(strings.Trim(hostport, "[]")), "80"
	}
	return strings.ToLower(host), port
}

// cookieName keeps two benches on one machine apart: cookies do not know ports.
func cookieName(r *http.Request) string {
	_, port := split(r.Host)
	return "halfstick-" + port
}

// refuse answers in words.
func refuse(w http.ResponseWriter, status int, why string) {
	http.Error(w, why, status)
}
