package sheet

import (
	"math"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

// A page of a list fits both A4 and letter paper with room for any printer's own margins, in millimetres.
const (
	listWidth  = 184.0
	listHeight = 252.0
	listText   = 4.0 // letters of a list, read at arm's length
	listFine   = 3.7 // of notes and feet
	cellPad    = 1.8
	tickBox    = 4.2
)

// Block is one part of a list on paper: a heading, sentences, a table, and sentences under it.
type Block struct {
	Heading string
	Before  []string
	Head    []string // of the table
	Rows    [][]string
	Tick    bool    // a box to tick before each row
	Right   []int   // columns of figures, set to the right
	First   float64 // width of the first column in millimetres; 0 to let it follow the words
	Big     bool    // letters half as large again, for a card to hang up
	Strong  bool    // the last row is a sum
	Caution bool    // a frame round the sentences
	After   []string
}

// Pages sets a list on as many pages as it needs: a title block with the guitar's name and the day of its
// design, the blocks in order, and at the foot of each page its number and a check bar of 100 mm named
// "check-100mm-x". Long words are broken and long names wrap; a table that runs on repeats its head.
// title names what the list is ("Cut list"), and like the blocks is in the language of the style; date is the day of printing, "" leaves it out.
func Pages(h Head, title, date string, blocks ...Block) []*drawing.Sheet {
	l := &lister{head: h, title: title, date: date}
	l.turn()
	for _, b := range blocks {
		l.block(b)
	}
	return l.finish()
}

type lister struct {
	head        Head
	title, date string
	pages       []*canvas
	y           float64 // next free line's top, from the page's top edge, down is negative
	fresh       bool    // nothing stands on the page yet
}

func (l *lister) page() *canvas { return l.pages[len(l.pages)-1] }

// say writes words for the list's reader.
func (l *lister) say(text unit.Text, args ...any) string { return l.head.Style.Say(text, args...) }

// floor is how far down a page may be written: the foot takes the rest.
const floor = -(listHeight - 17.0)

func (l *lister) turn() {
	c := newCanvas(listWidth, l.title)
	l.pages = append(l.pages, c)
	l.y = 0
	if len(l.pages) == 1 {
		l.words(big, true, l.title)
		name := l.head.Guitar
		if strings.TrimSpace(name) == "" {
			name = l.say("A guitar without a name")
		}
		l.words(middle+0.4, true, name)
		var said []string
		if l.head.Left {
			said = append(said, l.say("left-handed"))
		}
		if l.head.Date != "" {
			said = append(said, nb(l.say("design of %s", l.head.Date)))
		}
		if l.date != "" {
			said = append(said, nb(l.say("printed %s", l.date)))
		}
		said = append(said, l.say("lengths in %v", l.head.Style.Name()))
		l.words(listFine, false, strings.Join(said, ", "))
	} else {
		l.words(middle, true, l.title+", "+l.head.Guitar)
	}
	l.y -= 1
	c.line(drawing.LayerDim, "", 0, l.y, listWidth, l.y).Pen.Weight = mm(0.5)
	l.y -= 1.5
	l.fresh = true
}

// lead is the height of a line over the size of its letters.
const lead = 1.3

// words writes a paragraph over the whole width.
func (l *lister) words(size float64, bold bool, text string) {
	lines := breakWords(text, size, bold, listWidth)
	// A short paragraph is not parted.
	if n := len(lines); n <= 5 && l.y-float64(n)*size*lead < floor && !l.fresh {
		l.turn()
	}
	for _, s := range lines {
		if l.y-size*lead < floor {
			l.turn()
		}
		l.y -= size * lead
		t := label(0, l.y+size*0.26, size, drawing.Start, s)
		t.Bold = bold
		l.page().text("", t)
	}
	l.fresh = false
}

// breakWords wraps a text, and breaks what is too long for a line anywhere.
func breakWords(text string, size float64, bold bool, w float64) []string {
	var out []string
	for _, line := range drawing.Wrap(strings.ToValidUTF8(text, "?"), mm(size), bold, mm(w)) {
		for width(line, size, bold) > w {
			r := []rune(line)
			if len(r) < 2 { // not even one letter fits
				break
			}
			n := len(r) - 1
			for n > 1 && width(string(r[:n]), size, bold) > w {
				n--
			}
			out = append(out, string(r[:n]))
			line = strings.TrimLeft(string(r[n:]), " ")
		}
		if line != "" {
			out = append(out, line)
		}
	}
	return out
}

func (l *lister) block(b Block) {
	size := listText
	if b.Big {
		size *= 1.35
	}
	if !l.fresh {
		l.y -= 3
	}
	if b.Heading != "" {
		// A heading never stands alone at the foot of a page.
		need := (middle+0.6)*lead + 0.8
		switch {
		case len(b.Before) > 0:
			need += 2 * size * lead
		default:
			t := l.layout(b, size)
			if all := t.all(); all <= keepTogether {
				need += all
			} else {
				need += t.top()
			}
		}
		if l.y-need < floor && !l.fresh {
			l.turn()
		}
		l.words(middle+0.6, true, b.Heading)
		l.y -= 0.8
		l.data([]string{b.Heading})
	}
	from := l.y
	page := l.page()
	for _, s := range b.Before {
		if b.Caution {
			s = l.say("Take care.") + " " + s
		}
		l.words(size, b.Caution, s)
		l.data([]string{s})
	}
	if b.Caution && len(b.Before) > 0 && page == l.page() {
		l.y -= 1.2
		page.line(drawing.LayerDim, "", -1.5, from, -1.5, l.y).Pen.Weight = mm(1)
	}
	l.table(b, size)
	for _, s := range b.After {
		l.y -= 0.6
		l.words(listFine, false, s)
		l.data([]string{s})
	}
}

func (l *lister) data(row []string) {
	c := l.page()
	c.sheet.Table = append(c.sheet.Table, row)
}

// columns shares the width among the columns: each its longest cell where there is room, else less for those
// that can wrap. What is left over goes to one of them.
func columns(rows [][]string, n int, size, room float64, spare int) []float64 {
	want, least := make([]float64, n), make([]float64, n)
	for _, r := range rows {
		for i := range n {
			if i >= len(r) {
				continue
			}
			want[i] = max(want[i], width(r[i], size, true)+2*cellPad)
			for _, word := range strings.Split(r[i], " ") { // what a no-break space holds together stays so
				least[i] = max(least[i], min(width(word, size, true)+2*cellPad, 0.4*room))
			}
		}
	}
	sum := func(v []float64) (s float64) {
		for _, x := range v {
			s += x
		}
		return s
	}
	if total := sum(want); total <= room {
		if n > 0 {
			want[spare] += room - total
		}
		return want
	}
	low, high := sum(least), sum(want)
	if low >= room {
		for i := range least {
			least[i] *= room / low
		}
		return least
	}
	share := (room - low) / (high - low)
	for i := range least {
		least[i] += share * (want[i] - least[i])
	}
	return least
}

// layout is a table's columns and how a row is set in them.
type layout struct {
	Block
	n     int
	size  float64
	left  float64
	cols  []float64
	right []bool
}

func (l *lister) layout(b Block, size float64) layout {
	t := layout{Block: b, n: len(b.Head), size: size}
	for _, r := range b.Rows {
		t.n = max(t.n, len(r))
	}
	if t.n == 0 {
		return t
	}
	if b.Tick {
		t.left = tickBox + 2.5
	}
	all := b.Rows
	if len(b.Head) > 0 {
		all = append([][]string{b.Head}, b.Rows...)
	}
	room := listWidth - t.left
	if b.First > 0 && t.n > 1 {
		var rest [][]string
		for _, r := range all {
			rest = append(rest, r[min(1, len(r)):])
		}
		t.cols = append([]float64{b.First}, columns(rest, t.n-1, size, room-b.First, t.n-2)...)
	} else {
		t.cols = columns(all, t.n, size, room, 0)
	}
	t.right = make([]bool, t.n)
	for _, i := range b.Right {
		if i < t.n {
			t.right[i] = true
		}
	}
	return t
}

// set breaks a row's cells into lines and returns how high they stand.
func (t layout) set(row []string, bold bool) (cells [][]string, height float64) {
	most := 1
	for i := range t.n {
		var cell []string
		if i < len(row) {
			cell = breakWords(row[i], t.size, bold, t.cols[i]-2*cellPad)
		}
		cells = append(cells, cell)
		most = max(most, len(cell))
	}
	return cells, float64(most)*t.size*lead + 1.6
}

// keepTogether is how high a table may be, in millimetres, to be moved whole to the next page rather than parted.
const keepTogether = 100.0

// mostHead is how high a table's head may be, in millimetres, to be repeated on the next page.
const mostHead = 60.0

// all is how high the whole table stands.
func (t layout) all() float64 {
	h := t.top()
	for i, r := range t.Rows {
		if i > 0 {
			_, x := t.set(r, t.Strong && i == len(t.Rows)-1)
			h += x
		}
	}
	return h
}

// top is how high the head and the first row stand together.
func (t layout) top() float64 {
	h := 0.0
	if len(t.Head) > 0 {
		_, x := t.set(t.Head, true)
		h += x
	}
	if len(t.Rows) > 0 {
		_, x := t.set(t.Rows[0], false)
		h += x
	}
	return h
}

func (l *lister) table(b Block, size float64) {
	t := l.layout(b, size)
	if t.n == 0 {
		return
	}
	put := func(cells [][]string, bold, tick bool) {
		most := 1
		c := l.page()
		if tick {
			top := l.y - 1.2
			c.rect(drawing.LayerDim, "tick", drawing.Paper, 0, top-tickBox, tickBox, top).Pen.Weight = mm(0.35)
		}
		x := t.left
		for i, cell := range cells {
			most = max(most, len(cell))
			y := l.y - 0.4
			for _, s := range cell {
				y -= size * lead
				w := label(x+cellPad, y+size*0.26, size, drawing.Start, s)
				if t.right[i] {
					w = label(x+t.cols[i]-cellPad, y+size*0.26, size, drawing.End, s)
				}
				w.Bold = bold
				c.text("cell", w)
			}
			x += t.cols[i]
		}
		l.y -= float64(most)*size*lead + 1.6
		l.fresh = false
	}
	repeat := func() {}
	// A row taller than what is left of a whole page runs on over the next ones.
	row := func(cells [][]string, strong, tick bool) {
		for {
			room := max(int((l.y-floor-1.6)/(size*lead)), 1)
			part, rest, more := make([][]string, t.n), make([][]string, t.n), false
			for j, cell := range cells {
				k := min(room, len(cell))
				part[j], rest[j] = cell[:k], cell[k:]
				more = more || k < len(cell)
			}
			put(part, strong, tick)
			if !more {
				return
			}
			tick, cells = false, rest
			l.turn()
			repeat()
		}
	}
	if l.y-t.top() < floor && !l.fresh {
		l.turn()
	}
	if len(b.Head) > 0 {
		cells, height := t.set(b.Head, true)
		row(cells, true, false)
		l.data(b.Head)
		l.page().line(drawing.LayerDim, "", 0, l.y, listWidth, l.y).Pen.Weight = mm(0.4)
		if height <= mostHead {
			repeat = func() {
				put(cells, true, false)
				l.page().line(drawing.LayerDim, "", 0, l.y, listWidth, l.y).Pen.Weight = mm(0.4)
			}
		}
	}
	for i, r := range b.Rows {
		strong := b.Strong && i == len(b.Rows)-1
		cells, height := t.set(r, strong)
		if l.y-height < floor {
			l.turn()
			repeat()
		}
		if strong {
			l.page().line(drawing.LayerDim, "", 0, l.y, listWidth, l.y).Pen.Weight = mm(0.4)
		}
		row(cells, strong, b.Tick && !strong)
		l.data(r)
		rule := l.page().line(drawing.LayerDim, "", 0, l.y, listWidth, l.y)
		rule.Pen = drawing.Pen{Tone: drawing.Faint, Weight: mm(0.18)}
	}
}

// finish numbers the pages and gives each its foot.
func (l *lister) finish() []*drawing.Sheet {
	var out []*drawing.Sheet
	for i, c := range l.pages {
		y := -listHeight + 3.0
		d := noExtend(dim(pt(0, y+3.5), pt(100, y+3.5), 0, pt(0, y+3.5), drawing.Text{}))
		d.Arrow = mm(2.2)
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: "check-100mm-x", Shape: d}).Pen.Weight = mm(0.3)
		for _, x := range []float64{0, 100} {
			c.line(drawing.LayerDim, "check-100mm-end", x, y+1.5, x, y+5.5)
		}
		c.text("", label(50, y+5.2, small, drawing.Middle, nb(l.say("check: %s", "100 mm"))))
		c.text("page", label(listWidth, y+2.4, small, drawing.End, l.say("page %d of %d", i+1, len(l.pages))))
		c.sheet.ScaleX, c.sheet.ScaleY = 1, 1
		c.sheet.Title = l.title
		if len(l.pages) > 1 {
			c.sheet.Title = l.say("%s, page %d of %d", l.title, i+1, len(l.pages))
		}
		c.sheet.Desc = l.say("%s of %s, page %d of %d.", l.title, l.head.Guitar, i+1, len(l.pages))
		square(c.sheet.Table)
		c.sheet.Move(mm(fullMargin), mm(listHeight+fullMargin-2))
		c.sheet.Width, c.sheet.Height = mm(listWidth+2*fullMargin), mm(listHeight+fullMargin)
		out = append(out, &c.sheet)
	}
	return out
}

// square gives every row of a table as many cells.
func square(rows [][]string) {
	n := 0
	for _, r := range rows {
		n = max(n, len(r))
	}
	for i, r := range rows {
		for len(r) < n {
			r = append(r, "")
		}
		rows[i] = r
	}
}

// ListLength writes a length for a list, or a dash for none.
func ListLength(l unit.Length, s unit.Style) string {
	if l == 0 || math.IsNaN(float64(l)) {
		return "—"
	}
	return nb(l.In(s))
}
