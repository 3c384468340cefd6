package figures

import (
	"fmt"
	"html"
	"image/color"
	"regexp"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

var (
	styleAttribute = regexp.MustCompile(`\s*style="([^"]*)"`)
	textElement    = regexp.MustCompile(`<text ([^>]*)font-size="([0-9.]+)px"([^>]*)>([^<]*)</text>`)
)

// adapt turns plot's SVG into ours: it scales with its place, is described for
// readers who cannot see it, names a stack of system fonts once, and carries
// every colour as a class beside the plain attribute.
func adapt(svg string, f *Figure, standalone bool) string {
	body := svg[strings.Index(svg, "<g"):] // after prologue and start tag
	body = styleAttribute.ReplaceAllStringFunc(body, func(attribute string) string {
		return attributes(styleAttribute.FindStringSubmatch(attribute)[1])
	})
	body = textElement.ReplaceAllStringFunc(body, fixWidth)
	size, sheet := ` width="100%"`, ""
	if standalone {
		size = fmt.Sprintf(` width="%g" height="%g" style="max-width:100%%;height:auto"`, 1.6*f.width.Points(), 1.6*f.height.Points())
		sheet = "<style>\n" + Style() + "</style>\n"
	}
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g"%s role="img" font-family="%s"><title>%s</title>`+"\n%s%s",
		f.width.Points(), f.height.Points(), size, fontFamily, html.EscapeString(f.says), sheet, strings.TrimSpace(body))
}

// fixWidth tells the viewer how wide a text was laid out, so that it fits in its
// place whichever font of the stack the viewer has.
func fixWidth(element string) string {
	part := textElement.FindStringSubmatch(element)
	size, err := strconv.ParseFloat(part[2], 64)
	if err != nil || strings.TrimSpace(part[4]) == "" {
		return ""
	}
	style := textStyle(inkText, 0, 0)
	style.Font.Size = vg.Length(size)
	width := style.Width(html.UnescapeString(part[4]))
	return fmt.Sprintf(`<text %sfont-size="%s" textLength="%.1f" lengthAdjust="spacingAndGlyphs"%s>%s</text>`,
		part[1], part[2], width.Points(), part[3], part[4])
}

// attributes rewrites CSS declarations as presentation attributes, which a
// style sheet outranks, and adds the classes of the theme's colours.
func attributes(style string) string {
	var b strings.Builder
	var classes []string
	for declaration := range strings.SplitSeq(style, ";") {
		name, value, _ := strings.Cut(declaration, ":")
		switch name {
		case "font-family", "font-variant", "font-style", "font-weight":
			continue // the root element says which; no figure uses others
		case "fill", "stroke":
			if i, found := themed(value); found {
				value = hex(i.light)
				classes = append(classes, name+"-"+i.name)
			}
		}
		fmt.Fprintf(&b, ` %s="%s"`, name, value)
	}
	if len(classes) > 0 {
		fmt.Fprintf(&b, ` class="%s"`, strings.Join(classes, " "))
	}
	return b.String()
}

// themed finds the theme's colour that value is. Plot passes colours through
// premultiplied 16-bit numbers, which leaves a rounding error.
func themed(value string) (ink, bool) {
	n, err := strconv.ParseUint(strings.TrimPrefix(value, "#"), 16, 32)
	if err != nil {
		return ink{}, false
	}
	c := rgb(uint32(n))
	for _, i := range theme {
		if near(c, i.light) {
			return i, true
		}
	}
	return ink{}, false
}

func near(a, b color.NRGBA) bool {
	const rounding = 6
	close := func(x, y uint8) bool { return max(x, y)-min(x, y) <= rounding }
	return close(a.R, b.R) && close(a.G, b.G) && close(a.B, b.B)
}
