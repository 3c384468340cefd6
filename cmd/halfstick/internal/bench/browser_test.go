package bench

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// foreign is a name that somebody has pointed at this machine.
const foreign = "bench.example"

// pageWaits is how long a test waits for what must come: a busy machine is slow.
const pageWaits = time.Minute

var errNoBrowser = errors.New("there is no chromium (Debian: chromium; a path in CHROMIUM does as well)")

// closeBrowser ends the browser of all tests, if it was begun.
var closeBrowser = func() {}

func TestMain(m *testing.M) {
	code := m.Run()
	closeBrowser()
	os.Exit(code)
}

// browser is the one browser of all tests; each page of theirs has its own
// profile in it, which lies in a temporary folder.
var browser = sync.OnceValues(func() (context.Context, error) {
	path := os.Getenv("CHROMIUM")
	for _, name := range []string{"chromium", "chromium-browser"} {
		if found, err := exec.LookPath(name); path == "" && err == nil {
			path = found
		}
	}
	if path == "" {
		return nil, errNoBrowser
	}
	options := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(path), chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Flag("host-resolver-rules", "MAP "+foreign+" 127.0.0.1"),
	}
	for _, flag := range []string{
		"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync", "disable-default-apps",
		"disable-extensions", "hide-scrollbars", "mute-audio",
		// A page in the background is drawn as seldom as a browser likes.
		"disable-background-timer-throttling", "disable-backgrounding-occluded-windows", "disable-renderer-backgrounding",
	} {
		options = append(options, chromedp.Flag(flag, true))
	}
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	all, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, leave := chromedp.NewContext(all)
	closeBrowser = func() { leave(); end() }
	return ctx, chromedp.Do(ctx, chromedp.Navigate("about:blank"))
})

// page is a browser on the bench, with what it asked for and complained of.
type page struct {
	*desk
	t   testing.TB
	ctx context.Context
	// close ends it.
	close func()

	mu         sync.Mutex
	asked      []string // addresses
	complaints []string // errors on the console, refusals by the policy, boxes that popped up
}

// newPage opens an empty page; it has a profile of its own.
func newPage(d *desk) *page {
	t := d.t
	t.Helper()
	ctx, err := browser()
	if errors.Is(err, errNoBrowser) && os.Getenv("CI") != "true" {
		t.Skip("not run: ", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	p := &page{desk: d, t: t}
	ctx, leave := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext(), chromedp.WithListener(p.listen))
	p.ctx, p.close = ctx, sync.OnceFunc(leave)
	t.Cleanup(p.close)
	// The page lives as long as the context of its first step, so that one has
	// no end.
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	p.resize(1280, 900)
	return p
}

// browse opens a page of the bench, let in by the address with the token. At its end
// nothing may have been asked elsewhere, and nothing complained of.
func (d *desk) browse() *page {
	d.t.Helper()
	p := newPage(d)
	d.t.Cleanup(func() {
		if complaints := p.said(); len(complaints) > 0 {
			d.t.Errorf("the browser complains: %s", strings.Join(complaints, "; "))
		}
		p.mu.Lock()
		defer p.mu.Unlock()
		if len(p.asked) == 0 {
			d.t.Error("the page asked for nothing, so this test proves nothing")
		}
		for _, url := range p.asked {
			if !strings.HasPrefix(url, d.base+"/") {
				d.t.Errorf("the page asked for %s", url)
			}
		}
	})
	p.visit(d.base + "/?token=" + d.token)
	return p
}

// said is what was complained of, which is forgotten.
func (p *page) said() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := p.complaints
	p.complaints = nil
	return out
}

func (p *page) listen(event any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	complain := func(format string, args ...any) { p.complaints = append(p.complaints, fmt.Sprintf(format, args...)) }
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		p.asked = append(p.asked, e.Request.URL)
	case *network.EventWebSocketCreated:
		p.asked = append(p.asked, e.URL)
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			complain("%s %s", e.Entry.Text, e.Entry.URL)
		}
	case *runtime.EventExceptionThrown:
		complain("exception: %s %+v", e.ExceptionDetails.Text, e.ExceptionDetails.Exception)
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			complain("console.%s", e.Type)
		}
	case *cdppage.EventJavascriptDialogOpening:
		complain("a box pops up: %s", e.Message)
	}
}

func (p *page) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, pageWaits)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.t.Fatalf("%s: %v", what, err)
	}
}

func (p *page) visit(url string) {
	p.t.Helper()
	p.do("open "+url, chromedp.Navigate(url))
}

func (p *page) resize(width, height int64, options ...chromedp.EmulateViewportOption) {
	p.t.Helper()
	p.do("resize", chromedp.EmulateViewport(width, height, options...))
}

// prefers sets what the person has chosen in the system: a media feature.
func (p *page) prefers(features map[string]string) {
	p.t.Helper()
	var all []*emulation.MediaFeature
	for name, value := range features {
		all = append(all, &emulation.MediaFeature{Name: name, Value: value})
	}
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: all}); err != nil {
		p.t.Fatal(err)
	}
}

// first runs a script before those of every page to come.
func (p *page) first(script string) {
	p.t.Helper()
	_, err := chromedp.Call(p.ctx, cdppage.AddScriptToEvaluateOnNewDocument, cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: script})
	if err != nil {
		p.t.Fatal(err)
	}
}

// eval is the value of an expression on the page; it waits for a promise.
func eval[T any](p *page, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, pageWaits)
	defer cancel()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
	return value
}

// sees waits until an expression is true on the page.
func (p *page) sees(what, expression string) {
	p.t.Helper()
	for end := time.Now().Add(pageWaits); !eval[bool](p, "Boolean("+expression+")"); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			p.t.Fatalf("waited for: %s; the browser complains of %v and the page says\n%s", what, p.said(), eval[string](p, "document.body.innerText.slice(0, 400)"))
		}
	}
}

// seesAxis waits until the whole section of an axis is there, and live.
func (p *page) seesAxis(label string) {
	p.t.Helper()
	p.sees("the section of "+label, fmt.Sprintf(
		`document.querySelector("#sheet h2")?.textContent === %q && document.querySelector(".takeaway tbody tr") && document.getElementById("now-axis").textContent === %q`, label, label))
}

func (p *page) click(selector string) {
	p.t.Helper()
	p.do("click "+selector, chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
}

// press sends keys to whatever has the focus.
func (p *page) press(keys ...string) {
	p.t.Helper()
	for _, key := range keys {
		p.do("press a key", chromedp.KeyEvent(key))
	}
}

// text is what an element says.
func (p *page) text(selector string) string {
	p.t.Helper()
	return eval[string](p, fmt.Sprintf("document.querySelector(%q).textContent", selector))
}

// field is a number field of the shape.
func (p *page) field(id string) string {
	p.t.Helper()
	return eval[string](p, fmt.Sprintf("document.getElementById(%q).value", "field-"+id))
}
