package bench

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// FuzzRequests: whatever a page sends, the bench answers with JSON, says in one
// line what it did not understand, and keeps a response that can be used.
func FuzzRequests(f *testing.F) {
	d := run(f, withRecording(f, config(f)))
	// Behind the guard, which other tests try, and behind no network.
	posts := map[string]http.HandlerFunc{
		"shape": d.ofAxis(d.changeShape), "translate": d.ofAxis(d.translate), "watch": d.answer(d.watchAxis),
		"guide": d.answer(d.guideAction),
	}
	for _, body := range []string{
		`{"do":"move","handle":"deadband-high","x":40,"y":100,"gesture":"a"}`, `{"do":"kind","kind":"points"}`,
		`{"do":"set","field":"exponent","text":"1.7"}`, `{"do":"nudge","handle":"point-high-1","x":1,"y":-1}`,
		`{"do":"apart","apart":true}`, `{"do":"undo"}`, `{"do":"choose","chosen":-1}`, `{"do":"keep","text":"\u0000"}`,
		`{"do":"move","handle":"point-high-9999999999999999999","x":1e308,"y":-1e308}`, `{"device":"pedals","index":0}`,
		`{"readings":"setting,position_percent,command_percent\n30,50,20\n"}`, `{"action":"skip"}`, ``, `null`, `[]`, `{} {}`,
		strings.Repeat(`{"do":`, 20_000), `"` + strings.Repeat("x", mostBody) + `"`,
	} {
		for to := range posts {
			f.Add(to, body)
		}
	}
	f.Fuzz(func(t *testing.T, to, body string) {
		handler := posts[to]
		if handler == nil {
			return
		}
		r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(body))
		r.SetPathValue("label", "rudder")
		w := httptest.NewRecorder()
		handler(w, r)
		var refused problem
		switch {
		case !json.Valid(w.Body.Bytes()):
			t.Fatalf("the answer is no JSON: %q", w.Body)
		case w.Code == http.StatusUnprocessableEntity:
			if json.Unmarshal(w.Body.Bytes(), &refused) != nil || refused.Error == "" {
				t.Fatalf("refused without a reason: %q", w.Body)
			}
		case w.Code != http.StatusOK:
			t.Fatalf("status %d: %q", w.Code, w.Body)
		}
		x := d.analysis.Load().axis("rudder")
		view, err := d.shapeOf(x)
		if err != nil {
			t.Fatalf("after that the axis cannot be shown: %v", err)
		}
		if _, err := json.Marshal(view); err != nil {
			t.Fatal(err)
		}
		response := d.chosen(x).Axis.Response
		if err := response.Check(); err != nil {
			t.Fatalf("after that the response is none: %v", err)
		}
	})
}
