// Package svgtest reads an SVG drawing back, so that tests can measure what was written.
package svgtest

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// Element is one element with its attributes; Layer is the name of the layer group it lies in.
type Element struct {
	Tag, Layer, Text string
	Attr             map[string]string
}

// Drawing is a whole file.
type Drawing struct {
	Root     Element
	Elements []Element // in drawing order, root left out
}

// Parse reads a drawing strictly: anything that is not well-formed XML is an error.
func Parse(b []byte) (Drawing, error) {
	var d Drawing
	dec := xml.NewDecoder(bytes.NewReader(b))
	var open []int // index in d.Elements, -1 for the root
	layer := ""
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return d, err
		}
		switch t := tok.(type) {
		case xml.StartElement:
			e := Element{Tag: t.Name.Local, Attr: map[string]string{}}
			for _, a := range t.Attr {
				e.Attr[a.Name.Local] = a.Value
			}
			for _, c := range strings.Fields(e.Attr["class"]) {
				if l, ok := strings.CutPrefix(c, "layer-"); ok && e.Tag == "g" {
					layer = l
				}
			}
			e.Layer = layer
			if len(open) == 0 {
				d.Root = e
				open = append(open, -1)
				continue
			}
			d.Elements = append(d.Elements, e)
			open = append(open, len(d.Elements)-1)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if n := len(open); n > 0 && open[n-1] >= 0 {
				d.Elements[open[n-1]].Text += string(t)
			}
		}
	}
	if d.Root.Tag != "svg" {
		return d, fmt.Errorf("root is %q", d.Root.Tag)
	}
	return d, nil
}

// Named returns the elements of that data-name.
func (d Drawing) Named(name string) []Element {
	var out []Element
	for _, e := range d.Elements {
		if e.Attr["data-name"] == name {
			out = append(out, e)
		}
	}
	return out
}

// One returns the only element of that data-name; the error says how many there were otherwise.
func (d Drawing) One(name string) (Element, error) {
	es := d.Named(name)
	if len(es) != 1 {
		return Element{}, fmt.Errorf("%d elements named %q, want 1", len(es), name)
	}
	return es[0], nil
}

// Num returns an attribute as a number, NaN when it is none.
func (e Element) Num(attr string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSuffix(e.Attr[attr], "mm"), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// Points returns the corners of a polygon, polyline or line.
func (e Element) Points() [][2]float64 {
	if e.Tag == "line" {
		return [][2]float64{{e.Num("x1"), e.Num("y1")}, {e.Num("x2"), e.Num("y2")}}
	}
	var out [][2]float64
	for _, p := range strings.Fields(e.Attr["points"]) {
		x, y, _ := strings.Cut(p, ",")
		a, errA := strconv.ParseFloat(x, 64)
		b, errB := strconv.ParseFloat(y, 64)
		if errA != nil || errB != nil {
			return nil
		}
		out = append(out, [2]float64{a, b})
	}
	return out
}

// Length returns how long a line or polyline is.
func (e Element) Length() float64 {
	ps := e.Points()
	sum := 0.0
	for i := 1; i < len(ps); i++ {
		sum += math.Hypot(ps[i][0]-ps[i-1][0], ps[i][1]-ps[i-1][1])
	}
	return sum
}
