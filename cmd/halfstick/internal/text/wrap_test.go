package text

import "testing"

func TestWrap(t *testing.T) {
	got := Wrap("one two  three antidisestablishmentarianism four", 10, "  ")
	want := "one two\n  three\n  antidisestablishmentarianism\n  four"
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := Wrap("σσσ σσσ", 9, "  "); got != "σσσ σσσ" {
		t.Errorf("letters, not bytes, are counted: %q", got)
	}
}
