package pdf_test

import (
	"io"
	"math"
	"testing"

	"codeberg.org/go-pdf/fpdf"

	"fairset/drawing"
	"fairset/drawing/pdf"
	"fairset/unit"
)

// dense is a full-size sheet of 2000 lines, as many as a busy body template has.
func dense() *drawing.Sheet {
	s := &drawing.Sheet{Title: "dense", Width: 600 * mm, Height: 420 * mm}
	for i := range 2000 {
		a := float64(i) * math.Pi / 1000
		s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Line{From: drawing.At(300, 210),
			To: drawing.Point{X: (300 + 200*unit.Length(math.Cos(a))) * mm, Y: (210 + 200*unit.Length(math.Sin(a))) * mm}}})
	}
	return s
}

// Ten pages of lines by our writer; BenchmarkBareLibrary writes the same with a general PDF library.
func BenchmarkPages(b *testing.B) {
	s := dense()
	b.ReportAllocs()
	for b.Loop() {
		w := pdf.New(io.Discard, pdf.Options{Date: day})
		for range 10 {
			if err := w.Add(s.Page()); err != nil {
				b.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBareLibrary(b *testing.B) {
	s := dense()
	b.ReportAllocs()
	for b.Loop() {
		f := fpdf.New("P", "mm", "", "")
		f.SetCreationDate(day)
		f.SetModificationDate(day)
		f.SetCatalogSort(true)
		f.SetLineWidth(0.25)
		for range 10 {
			f.AddPageFormat("P", fpdf.SizeType{Wd: 600, Ht: 420})
			for _, it := range s.Items {
				l := it.Shape.(drawing.Line)
				f.Line(l.From.X.MM(), 420-l.From.Y.MM(), l.To.X.MM(), 420-l.To.Y.MM())
			}
		}
		if err := f.Output(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

// A small page with words: what a font costs.
func BenchmarkWords(b *testing.B) {
	s := &drawing.Sheet{Title: "words", Width: 210 * mm, Height: 297 * mm}
	for i := range 40 {
		s.Add(drawing.Item{Layer: drawing.LayerNote, Shape: drawing.Text{At: drawing.At(20, 20+6*float64(i)), Size: 4 * mm, Bold: i%2 == 0, String: "Lay the straight edge along the line, 25 ½ in"}})
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := pdf.Write(io.Discard, []drawing.Page{s.Page()}, pdf.Options{Date: day}); err != nil {
			b.Fatal(err)
		}
	}
}
