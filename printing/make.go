package printing

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"

	"fairset/drawing"
	"fairset/drawing/dxf"
	"fairset/drawing/pdf"
	"fairset/drawing/png"
	"fairset/drawing/svg"
	"fairset/unit"
)

// Format is a kind of file.
type Format string

// The formats.
const (
	PDF Format = "pdf" // to print
	SVG Format = "svg" // to look at, and for cutting machines
	DXF Format = "dxf" // for drawing programs: always whole and full size
	PNG Format = "png" // a picture, for a glance
)

// Formats lists the formats in the order they are offered.
func Formats() []Format { return []Format{PDF, SVG, DXF, PNG} }

// ParseFormat reads the name of a format, in small or capital letters. The error is a *unit.RangeError.
func ParseFormat(name string) (Format, error) {
	for _, f := range Formats() {
		if string(f) == strings.ToLower(name) {
			return f, nil
		}
	}
	return "", choice("format", "format", name, "there is no such format", Formats())
}

// Name says the format in words.
func (f Format) Name() unit.Text {
	switch f {
	case PDF:
		return "PDF, to print"
	case SVG:
		return "SVG, to look at or for a cutting machine"
	case DXF:
		return "DXF, for a drawing program"
	default:
		return "PNG, a picture"
	}
}

// MediaType is the format's name on the web.
func (f Format) MediaType() string {
	switch f {
	case PDF:
		return "application/pdf"
	case SVG:
		return "image/svg+xml"
	case DXF:
		return "image/vnd.dxf"
	default:
		return "image/png"
	}
}

// Report says what became of a print.
type Report struct {
	Files  int
	Sheets int // drawings
	Pages  int
	Left   []*NeedError // sheets left out, because the guitar lacks what they need
}

// Job is what is to be printed of a guitar.
type Job struct {
	Entries []Entry
	Setup
	Format Format
	// Lenient leaves out what cannot be drawn yet and says so in the report, as is wanted of all sheets; else the
	// first such sheet is the error.
	Lenient bool
}

// Put takes one file: its name, unlike that of the guitar's other files ("frets-2.svg"), and what writes it.
type Put func(name string, write func(io.Writer) error) error

// Make draws the sheets of a guitar, one entry after the other, and hands each file to put as soon as it can be written:
// one PDF of all pages under the guitar's own name, or, in the other formats, a file for each page under the entry's
// name, numbered when there are several. put calls write once before it returns, or passes the file over; an
// error it returns ends the print. No file is begun before its first page is drawn. When nothing could be drawn the error is that of the first entry.
func (j Job) Make(s Source, put Put) (Report, error) {
	if len(j.Entries) == 0 {
		return Report{}, errors.New("print: no sheets asked for")
	}
	m := &making{Job: j, source: s, put: put}
	var err error
	if j.Format == PDF {
		err = m.document()
	} else {
		err = m.each(m.files)
	}
	return m.report, err
}

// making is a print under way.
type making struct {
	Job
	source Source
	put    Put
	at     int // entries drawn so far
	report Report
}

// next draws the next entry that can be drawn; no pages when there is none.
func (m *making) next() (e Entry, pages []drawing.Page, err error) {
	for len(pages) == 0 && m.at < len(m.Entries) {
		e = m.Entries[m.at]
		m.at++
		plan, err := m.Plan(e, m.source, m.Format)
		var need *NeedError
		if m.Lenient && errors.As(err, &need) {
			m.report.Left = append(m.report.Left, need)
			continue
		}
		if err != nil {
			return e, nil, err
		}
		pages = plan.Pages
		m.report.Sheets += len(plan.Pictures)
		m.report.Pages += len(pages)
	}
	if m.report.Sheets == 0 {
		return e, nil, m.report.Left[0]
	}
	return e, pages, nil
}

// each draws entry after entry, holding one at a time.
func (m *making) each(do func(Entry, []drawing.Page) error) error {
	for {
		e, pages, err := m.next()
		if err != nil || len(pages) == 0 {
			return err
		}
		if err := do(e, pages); err != nil {
			return err
		}
	}
}

func (m *making) document() error {
	_, first, err := m.next()
	if err != nil {
		return err
	}
	name := m.source.Guitar.Name
	err = m.put(FileName(name, "guitar")+".pdf", func(w io.Writer) error {
		f := pdf.New(w, pdf.Options{Title: name, Language: m.source.Style.Language(), Desc: m.source.Style.Say("Sheets of the guitar %s, to print at full size.", name)})
		add := func(_ Entry, pages []drawing.Page) error {
			for _, p := range pages {
				if err := f.Add(p); err != nil {
					return err
				}
			}
			return nil
		}
		if err := add(Entry{}, first); err != nil {
			return err
		}
		if err := m.each(add); err != nil {
			return err
		}
		return f.Close()
	})
	if err == nil {
		m.report.Files++
	}
	return err
}

func (m *making) files(e Entry, pages []drawing.Page) error {
	for i, p := range pages {
		name := e.Name
		if n := len(pages); n > 1 {
			name = fmt.Sprintf("%s-%0*d", name, len(fmt.Sprint(n)), i+1)
		}
		if err := m.put(name+"."+string(m.Format), func(w io.Writer) error { return m.write(w, name, p) }); err != nil {
			return err
		}
		m.report.Files++
	}
	return nil
}

// write writes one page in a format that has one page a file.
func (m *making) write(w io.Writer, name string, p drawing.Page) error {
	switch m.Format {
	case DXF:
		return dxf.Write(w, p.Sheet)
	case PNG:
		return png.Write(w, p, png.Options{DPI: m.DPI})
	}
	return svg.WritePage(w, p, svg.Options{Mode: svg.Paper, ID: name, File: true})
}

// FileName makes of a title a name that every system can keep a file under: lower case letters, digits and single
// hyphens, at most 40; otherwise when nothing is left of it.
func FileName(title, otherwise string) string {
	var b strings.Builder
	for _, r := range title {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			b.WriteRune(unicode.ToLower(r))
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 40 {
			break
		}
	}
	return cmp.Or(strings.Trim(b.String(), "-"), otherwise)
}

// FileNames gives every guitar of a print a file name of its own.
type FileNames map[string]bool

// Take returns a name for a guitar: that of its title, with its id or a number behind it where the name is taken.
func (n FileNames) Take(title, id string) string {
	name := FileName(title, "guitar")
	if n[name] {
		name += "-" + FileName(id, "2")
	}
	for base, i := name, 2; n[name]; i++ {
		name = fmt.Sprintf("%s-%d", base, i)
	}
	n[name] = true
	return name
}

// Own gives a guitar's files names of its own among those of other guitars: "heron.pdf", or "heron-frets.svg".
func (n FileNames) Own(title, id string, put Put) Put {
	base := n.Take(title, id)
	return func(name string, write func(io.Writer) error) error {
		if pdf := "." + string(PDF); strings.HasSuffix(name, pdf) {
			return put(base+pdf, write)
		}
		return put(base+"-"+name, write)
	}
}
