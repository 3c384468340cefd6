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
	if got, want := Wrap("some 57 % of", 8, ""), "some\n57 % of"; got != want {
		t.Errorf("a percent sign stays with its number: %q, want %q", got, want)
	}
}
