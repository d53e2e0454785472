package report

import (
	"fmt"
	"html"
	"strconv"
	"strings"
)

// svg writes the figure as one element to stand inside HTML, without its title and
// caption. It refers to nothing outside itself.
func (f *drawing) svg() string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %s %s" role="img" aria-label="%s">`+"\n", pt(f.widthPt), pt(f.highPt), html.EscapeString(f.title))
	for _, s := range f.shapes {
		if s.text != "" {
			b.WriteString(svgText(s))
		} else {
			b.WriteString(svgPath(s))
		}
		b.WriteByte('\n')
	}
	b.WriteString("</svg>")
	return b.String()
}

func svgPath(s shape) string {
	var b strings.Builder
	b.WriteString(`<path d="`)
	for i, p := range s.points {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(pt(p.x) + " " + pt(p.y))
	}
	if s.filled {
		fmt.Fprintf(&b, `Z" fill="%s"/>`, greyText(s.grey))
		return b.String()
	}
	fmt.Fprintf(&b, `" fill="none" stroke="%s" stroke-width="%s"`, greyText(s.pen.grey), pt(s.pen.widthPt))
	if len(s.pen.dashPt) > 0 {
		var dash []string
		for _, d := range s.pen.dashPt {
			dash = append(dash, pt(d))
		}
		fmt.Fprintf(&b, ` stroke-dasharray="%s"`, strings.Join(dash, " "))
	}
	b.WriteString("/>")
	return b.String()
}

func svgText(s shape) string {
	anchor := [...]string{startAnchor: "", middleAnchor: ` text-anchor="middle"`, endAnchor: ` text-anchor="end"`}[s.anchor]
	if s.bold {
		anchor += ` font-weight="bold"`
	}
	return fmt.Sprintf(`<text x="%s" y="%s" font-size="%s"%s>%s</text>`, pt(s.points[0].x), pt(s.points[0].y), pt(s.sizePt), anchor, html.EscapeString(s.text))
}

// pt words a length in points, no finer than can be seen.
func pt(x float64) string {
	s := strconv.FormatFloat(x, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

func greyText(grey float64) string {
	n := int(255*grey + 0.5)
	return fmt.Sprintf("#%02x%02x%02x", n, n, n)
}
