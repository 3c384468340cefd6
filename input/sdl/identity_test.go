package sdl

import "testing"

func TestWhoHasComeBack(t *testing.T) {
	unit := func(serial, port string) identity {
		return identity{name: "Example Pedals", guid: "0300aa", axes: 3, serial: serial, port: port}
	}
	other := unit("1", "a")
	other.guid = "0300bb"
	fewer := unit("1", "a")
	fewer.axes = 2
	renamed := unit("1", "a")
	renamed.name = "Example Stick"
	type ids = []identity
	for name, c := range map[string]struct {
		came       identity
		away, here ids
		want       int
	}{
		"nobody is away":                       {unit("1", "a"), nil, ids{unit("2", "b")}, nobody},
		"same serial, same port":               {unit("1", "a"), ids{unit("1", "a")}, nil, 0},
		"same serial, another port":            {unit("1", "b"), ids{unit("1", "a")}, nil, 0},
		"another serial, same port":            {unit("2", "a"), ids{unit("1", "a")}, nil, nobody},
		"a serial where there was none":        {unit("2", "a"), ids{unit("", "a")}, nil, nobody},
		"no serial where there was one":        {unit("", "a"), ids{unit("1", "a")}, nil, nobody},
		"the second of two by serial":          {unit("2", "c"), ids{unit("1", "a"), unit("2", "b")}, nil, 1},
		"by port":                              {unit("", "b"), ids{unit("", "a"), unit("", "b")}, nil, 1},
		"another port without a serial":        {unit("", "b"), ids{unit("", "a")}, nil, nobody},
		"no port where there was one":          {unit("", ""), ids{unit("", "a")}, nil, nobody},
		"nothing known, the only one":          {unit("", ""), ids{unit("", "")}, nil, 0},
		"nothing known, two away":              {unit("", ""), ids{unit("", ""), unit("", "")}, nil, nobody},
		"nothing known, its twin is here":      {unit("", ""), ids{unit("", "")}, ids{unit("", "")}, nobody},
		"its twin here has a serial":           {unit("", ""), ids{unit("", "")}, ids{unit("1", "")}, 0},
		"a serial that its twin has too":       {unit("0", "b"), ids{unit("0", "a")}, ids{unit("0", "c")}, nobody},
		"a serial that its twin has too, port": {unit("0", "a"), ids{unit("0", "a")}, ids{unit("0", "c")}, 0},
		"two away with one serial, by port":    {unit("0", "b"), ids{unit("0", "a"), unit("0", "b")}, nil, 1},
		"another GUID":                         {other, ids{unit("1", "a")}, nil, nobody},
		"another number of axes":               {fewer, ids{unit("1", "a")}, nil, nobody},
		"another name":                         {renamed, ids{unit("1", "a")}, nil, nobody},
	} {
		if got := rejoin(c.came, c.away, c.here); got != c.want {
			t.Errorf("%s: it is taken for %d, want %d", name, got, c.want)
		}
	}
}
