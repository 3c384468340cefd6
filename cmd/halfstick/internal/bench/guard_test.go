package bench

import (
	"net/http"
	"strings"
	"testing"
)

// Only a page of this server, in a browser that has the token, gets through;
// and only with the token may it change something.
func TestGuard(t *testing.T) {
	d := run(t, config(t))
	port := d.base[strings.LastIndex(d.base, ":")+1:]
	cookie := "halfstick-" + port + "=" + d.token
	for name, c := range map[string]struct {
		method, path, host, origin, token, cookie string
		want                                      int
	}{
		"as the page asks":            {method: "GET", path: "/state", cookie: cookie, want: 200},
		"by the name localhost":       {method: "GET", path: "/state", host: "localhost:" + port, cookie: cookie, want: 200},
		"without the cookie":          {method: "GET", path: "/state", want: 403},
		"the files too":               {method: "GET", path: "/web/main.js", want: 403},
		"with another cookie":         {method: "GET", path: "/state", cookie: "halfstick-" + port + "=x", want: 403},
		"with an empty cookie":        {method: "GET", path: "/state", cookie: "halfstick-" + port + "=", want: 403},
		"with the token of another":   {method: "GET", path: "/?token=x", want: 403},
		"with an empty token":         {method: "GET", path: "/?token=", want: 403},
		"under another name":          {method: "GET", path: "/state", host: "evil.example:" + port, cookie: cookie, want: 421},
		"under a name like it":        {method: "GET", path: "/state", host: "127.0.0.1.evil.example:" + port, cookie: cookie, want: 421},
		"under another port":          {method: "GET", path: "/state", host: "127.0.0.1:1", cookie: cookie, want: 421},
		"the token, under a name":     {method: "GET", path: "/?token=" + d.token, host: "evil.example:" + port, want: 421},
		"a change as the page does":   {method: "POST", path: "/look", origin: d.base, token: d.token, cookie: cookie, want: 200},
		"a change without token":      {method: "POST", path: "/look", origin: d.base, cookie: cookie, want: 403},
		"a change by another page":    {method: "POST", path: "/look", origin: "http://evil.example", token: d.token, cookie: cookie, want: 403},
		"a change from nowhere":       {method: "POST", path: "/look", origin: "null", token: d.token, cookie: cookie, want: 403},
		"a change without origin":     {method: "POST", path: "/look", token: d.token, cookie: cookie, want: 403},
		"a change under another host": {method: "POST", path: "/look", host: "evil.example:" + port, origin: "http://evil.example:" + port, token: d.token, cookie: cookie, want: 421},
		"a change without cookie":     {method: "POST", path: "/look", origin: d.base, token: d.token, want: 403},
		"a change by GET":             {method: "GET", path: "/look", token: d.token, cookie: cookie, want: 405},
		"another method":              {method: "DELETE", path: "/state", origin: d.base, token: d.token, cookie: cookie, want: 405},
		"what is not there":           {method: "GET", path: "/etc/passwd", cookie: cookie, want: 404},
		"outside the files":           {method: "GET", path: "/web/../bench.go", cookie: cookie, want: 404},
	} {
		r, err := http.NewRequest(c.method, d.base+c.path, strings.NewReader("{}"))
		if err != nil {
			t.Fatal(err)
		}
		if c.host != "" {
			r.Host = c.host
		}
		for header, value := range map[string]string{"Origin": c.origin, tokenHeader: c.token, "Cookie": c.cookie} {
			if value != "" {
				r.Header.Set(header, value)
			}
		}
		client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		response, err := client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if got := response.StatusCode; got != c.want && !(c.want == 404 && got == 307) {
			t.Errorf("%s: %s, want %d", name, response.Status, c.want)
		}
		if policy := response.Header.Get("Content-Security-Policy"); !strings.HasPrefix(policy, "default-src 'none'") || strings.Contains(policy, "unsafe") {
			t.Errorf("%s: the policy is %q", name, policy)
		}
		for _, c := range response.Cookies() {
			t.Errorf("%s: a cookie was set: %v", name, c)
		}
	}
}

// The address that is printed gives a cookie that no script can read and no
// other site can use, and the token leaves the address bar.
func TestTheTokenBecomesACookie(t *testing.T) {
	d := run(t, config(t))
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	response, err := client.Get(d.base + "/?token=" + d.token)
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	cookies := response.Cookies()
	if response.StatusCode != 303 || response.Header.Get("Location") != "/" || len(cookies) != 1 {
		t.Fatalf("%s to %q with %v", response.Status, response.Header.Get("Location"), cookies)
	}
	if c := cookies[0]; !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Value != d.token || len(c.Value) < 20 {
		t.Errorf("the cookie is %v", c)
	}
}
