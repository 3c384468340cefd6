package bench

import "testing"

// delayFlown keeps back the replayed flight of every axis but the rudder until it
// is let go, and tells when it was asked for.
const delayFlown = `(() => {
	const real = window.fetch;
	window.letGo = null;
	window.fetch = async (path, ...rest) => {
		const got = await real(path, ...rest);
		if (String(path).endsWith("/figure/flown") && !String(path).includes("rudder")) {
			await new Promise((go) => { window.letGo = go; });
		}
		return got;
	};
	return true;
})()`

// Of an axis that is left before all of it has come nothing gets into the section
// of the one that was chosen instead: neither its figures nor the live marks.
func TestPageOfAnAxisLeftEarly(t *testing.T) {
	p := run(t, withRecording(t, config(t))).browse()
	p.seesAxis("rudder")
	eval[bool](p, delayFlown)
	eval[bool](p, `document.querySelector("#sheet section").id = "old", true`)
	p.click("#rail li:nth-child(2) button")
	p.sees("the other axis's flight is asked for", "window.letGo")
	p.click("#rail li:nth-child(1) button")
	p.sees("the rudder anew", `document.querySelector("#sheet section") && !document.getElementById("old")`)
	eval[bool](p, `window.letGo(), new Promise((done) => setTimeout(done, 500, true))`)
	p.seesAxis("rudder")
	if n := eval[int](p, `document.querySelectorAll(".flown svg").length`); n != 1 {
		t.Errorf("there are %d replayed flights", n)
	}
	for _, figure := range []string{".figures .live-marks", ".paper .live-marks"} {
		eval[bool](p, `document.querySelector("`+figure+`").scrollIntoView({ block: "center" }), true`)
		p.sees("live marks in "+figure, `document.querySelector("`+figure+`").childNodes.length > 0`)
	}
}
