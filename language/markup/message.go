package markup

import (
	"fmt"
	"html"
	"regexp"
	"strings"
	"unicode"
)

// message is a text: the tokens from up to to, and what its marks stand for.
type message struct {
	tokens      []token
	from, to    int
	id          string
	lead, trail string       // white space at the ends of the outermost tokens
	places      []placed     // {1} is places[0]
	marks       map[mark]int // tags by their token
}

// placed is what a placeholder stands for: an action by its token, or source that is no word.
type placed struct {
	token   int
	literal string
}

func inline(name string) bool {
	switch name {
	case "a", "b", "strong", "em", "i", "span", "code", "kbd", "abbr", "small", "sub", "sup", "time", "var", "mark", "q", "cite":
		return true
	}
	return isVoid(name)
}

func isVoid(name string) bool { return name == "br" || name == "wbr" }

func (m message) said() said { return said{m.tokens[m.from].pos, m.id} }

// find finds the texts of a page, or of an attribute's value.
func find(tokens []token) []message {
	var out []message
	for from := 0; from < len(tokens); {
		to := from
		for to < len(tokens) && tokens[to].kind != broken && (tokens[to].kind != tag || inline(tokens[to].name)) {
			to++
		}
		out = append(out, split(tokens, from, to)...)
		from = to + 1
	}
	return out
}

// split finds the texts of a run.
func split(tokens []token, from, to int) []message {
	partner, lone := pairs(tokens, from, to)
	if lone >= 0 {
		return append(split(tokens, from, lone), split(tokens, lone+1, to)...)
	}
	from, to = peel(tokens, from, to, partner)
	if !anyOf(tokens[from:to], unicode.IsLetter, false) {
		return nil
	}
	if ends := links(tokens, from, to, partner); len(ends) > 1 {
		var out []message
		for _, end := range ends {
			out = append(out, split(tokens, from, end)...)
			from = end
		}
		return out
	}
	return []message{compose(tokens, from, to, partner)}
}

// pairs finds the closing tag of each opening one, and the first tag of a run that has no partner; -1 for none.
func pairs(tokens []token, from, to int) (partner map[int]int, lone int) {
	partner = map[int]int{}
	var opened []int
	for i := from; i < to; i++ {
		t := tokens[i]
		if t.kind != tag || isVoid(t.name) {
			continue
		}
		if !t.close {
			opened = append(opened, i)
			continue
		}
		n := len(opened)
		if n == 0 {
			return nil, i
		}
		if tokens[opened[n-1]].name != t.name {
			return nil, opened[n-1]
		}
		partner[opened[n-1]], partner[i] = i, opened[n-1]
		opened = opened[:n-1]
	}
	if len(opened) > 0 {
		return nil, opened[0]
	}
	return partner, -1
}

// peel leaves out at both ends what a translator does not need.
func peel(tokens []token, from, to int, partner map[int]int) (int, int) {
	for from < to {
		first, last := tokens[from], tokens[to-1]
		switch {
		case empty(first):
			from++
		case empty(last):
			to--
		case first.kind == tag && !isVoid(first.name) && partner[from] == to-1:
			from++
			to--
		case first.kind == tag && !isVoid(first.name) && bare(tokens[from:partner[from]]):
			from = partner[from] + 1
		case last.kind == tag && !isVoid(last.name) && bare(tokens[partner[to-1]:to]):
			to = partner[to-1]
		default:
			i, j := lines(tokens, from, to, partner)
			if i == from && j == to {
				return from, to
			}
			from, to = i, j
		}
	}
	return from, to
}

// lines leaves out the first and the last line of a run, as br ends them, when it has no letter: values do not move from line to line.
func lines(tokens []token, from, to int, partner map[int]int) (int, int) {
	first, last := -1, -1
	for i := from; i < to; i++ {
		switch t := tokens[i]; {
		case t.kind == tag && t.name == "br":
			if first < 0 {
				first = i
			}
			last = i
		case t.kind == tag && !isVoid(t.name):
			i = partner[i]
		}
	}
	switch {
	case first >= 0 && !anyOf(tokens[from:first], unicode.IsLetter, false):
		from = first + 1
	case last >= 0 && !anyOf(tokens[last:to], unicode.IsLetter, false):
		to = last
	}
	return from, to
}

// empty reports white space and void tags.
func empty(t token) bool {
	return t.kind == text && strings.Trim(t.src, space) == "" || t.kind == tag && isVoid(t.name)
}

// bare reports that tokens hold nothing that is read as words or figures.
func bare(tokens []token) bool {
	return !anyOf(tokens, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsNumber(r) }, true)
}

// anyOf reports whether a character of the texts is of a sort; actions says what to take an action for.
func anyOf(tokens []token, is func(rune) bool, actions bool) bool {
	for _, t := range tokens {
		if t.kind == value && actions {
			return true
		}
		if t.kind != text {
			continue
		}
		for _, c := range chunks(t.src) {
			if strings.ContainsFunc(c.text, is) {
				return true
			}
		}
	}
	return false
}

// links gives the ends of the links of a run that is nothing but links.
func links(tokens []token, from, to int, partner map[int]int) []int {
	var ends []int
	for i := from; i < to; i++ {
		switch t := tokens[i]; {
		case t.kind == tag && t.name == "a":
			i = partner[i]
			ends = append(ends, i+1)
		case !empty(t):
			return nil
		}
	}
	return ends
}

// compose makes the text of a balanced and peeled run.
func compose(tokens []token, from, to int, partner map[int]int) message {
	m := message{tokens: tokens, from: from, to: to, marks: map[mark]int{}}
	var id strings.Builder
	var gap bool // white space stands before what comes
	put := func(s string) {
		if gap && id.Len() > 0 {
			id.WriteByte(' ')
		}
		gap = false
		id.WriteString(s)
	}
	numbers := map[int]int{}
	tags := 0
	for i := from; i < to; i++ {
		t := tokens[i]
		switch t.kind {
		case value:
			m.places = append(m.places, placed{token: i})
			put(part{kind: place, n: len(m.places)}.String())
		case tag:
			p := part{kind: open}
			switch {
			case t.close && !isVoid(t.name):
				p = part{kind: shut, n: numbers[partner[i]]}
			default:
				tags++
				p.n = tags
				numbers[i] = tags
				if isVoid(t.name) {
					p.kind = void
				}
			}
			m.marks[p.mark()] = i
			put(p.String())
		case text:
			s := t.src
			// A trim marker takes white space away only from the text next to it; at the ends of the run it stands outside.
			if i > from && tokens[i-1].kind == value && tokens[i-1].trimRight {
				s = strings.TrimLeft(s, trimSpace)
			}
			if i+1 < to && tokens[i+1].kind == value && tokens[i+1].trimLeft {
				s = strings.TrimRight(s, trimSpace)
			}
			for _, c := range chunks(s) {
				if c.literal != "" {
					m.places = append(m.places, placed{token: -1, literal: c.literal})
					put(part{kind: place, n: len(m.places)}.String())
					continue
				}
				for _, r := range c.text {
					if white(r) {
						gap = true
						continue
					}
					put(string(r))
				}
			}
		}
	}
	m.id = id.String()
	if t := tokens[from]; t.kind == text {
		m.lead = t.src[:len(t.src)-len(strings.TrimLeft(t.src, space))]
	}
	if t := tokens[to-1]; t.kind == text {
		m.trail = t.src[len(strings.TrimRight(t.src, space)):]
	}
	return m
}

// chunk is text as it is read, or the source of something that would be taken for a mark, lose its white space or not be allowed if it
// stood in an id.
type chunk struct{ text, literal string }

var special = regexp.MustCompile(`&(?:#[0-9]+|#[xX][0-9a-fA-F]+|[a-zA-Z][a-zA-Z0-9]*);?|[<{\x00-\x08\x0b\x0e-\x1f\x7f-\x{9f}]`)

func white(r rune) bool { return r < 0x80 && blank(byte(r)) }

// chunks decodes the entities of a text.
func chunks(s string) []chunk {
	var out []chunk
	done := 0
	for _, at := range special.FindAllStringIndex(s, -1) {
		out = append(out, chunk{text: s[done:at[0]]})
		done = at[1]
		src := s[at[0]:at[1]]
		read := html.UnescapeString(src)
		switch {
		case !strings.ContainsFunc(read, func(r rune) bool { return r == '<' || r == '{' || unicode.IsControl(r) || white(r) }):
			out = append(out, chunk{text: read})
		case src[0] != '&' && src != "<" && src != "{":
			out = append(out, chunk{literal: src})
		default:
			// Whatever follows it in another language, it is read as the same.
			var b strings.Builder
			for _, r := range read {
				fmt.Fprintf(&b, "&#%d;", r)
			}
			out = append(out, chunk{literal: b.String()})
		}
	}
	return append(out, chunk{text: s[done:]})
}

// put sets the words for a text into out, which has the source of each token.
func (m message) put(out []string, words func(string) (string, bool), escape func(string) string) error {
	translation, ok := words(m.id)
	if !ok || translation == "" || translation == m.id {
		return nil
	}
	list, err := check(m.id, translation)
	if err != nil {
		return fmt.Errorf("%q for %q: %w", translation, m.id, err)
	}
	var b strings.Builder
	b.WriteString(m.lead)
	for _, p := range list {
		switch p.kind {
		case plain:
			b.WriteString(escape(p.text))
		case place:
			at := m.places[p.n-1]
			if at.token < 0 {
				b.WriteString(at.literal)
				continue
			}
			b.WriteString(untrimmed(m.tokens[at.token]))
		default:
			b.WriteString(out[m.marks[p.mark()]])
		}
	}
	b.WriteString(m.trail)

	// The actions lose their trim markers, since others may stand beside them now: what those took away around the run goes here.
	if first := m.tokens[m.from]; first.trimLeft {
		for i := m.from - 1; i >= 0 && (m.tokens[i].kind == text || m.tokens[i].src == "\n"); i-- {
			if out[i] = strings.TrimRight(out[i], trimSpace); out[i] != "" {
				break
			}
		}
	}
	if last := m.tokens[m.to-1]; last.trimRight {
		for i := m.to; i < len(out) && (m.tokens[i].kind == text || m.tokens[i].src == "\n"); i++ {
			if out[i] = strings.TrimLeft(out[i], trimSpace); out[i] != "" {
				break
			}
		}
	}
	out[m.from] = b.String()
	for i := m.from + 1; i < m.to; i++ {
		out[i] = ""
	}
	return nil
}

// untrimmed is an action without trim markers.
func untrimmed(t token) string {
	s := t.src
	if t.trimLeft {
		s = "{{" + strings.TrimLeft(s[len("{{-"):], trimSpace)
	}
	if t.trimRight {
		s = strings.TrimRight(s[:len(s)-len("-}}")], trimSpace) + "}}"
	}
	return s
}

var texts = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\u00a0", "&nbsp;")

func textEscape(s string) string { return texts.Replace(s) }

func attrEscape(s string) string { return strings.ReplaceAll(html.EscapeString(s), "\u00a0", "&nbsp;") }

// messages finds the texts of an attribute of a tag.
func (a attr) messages(t token) []message {
	if !readable(t, a.name) {
		return nil
	}
	if a.quote == 0 {
		for _, t := range a.tokens {
			if t.kind == broken {
				return nil
			}
		}
	}
	return find(a.tokens)
}

// readable reports whether people read an attribute.
func readable(t token, name string) bool {
	if t.close {
		return false
	}
	switch name {
	case "aria-label", "aria-description", "aria-roledescription", "aria-valuetext", "title", "alt", "placeholder":
		return true
	case "label":
		return t.name == "optgroup" || t.name == "option" || t.name == "track"
	case "content":
		return t.name == "meta" && t.attr("name") == "description"
	case "value":
		kind := t.attr("type")
		return t.name == "input" && (kind == "submit" || kind == "button" || kind == "reset")
	}
	return strings.HasPrefix(name, "data-say") || strings.HasPrefix(name, "data-text")
}

// attr is the value of an attribute in lower case.
func (t token) attr(name string) string {
	for _, a := range t.attrs {
		if a.name == name && len(a.tokens) == 1 {
			return strings.ToLower(a.tokens[0].src)
		}
	}
	return ""
}

// with is the source of a tag with other words in its attributes.
func (t token) with(words func(string) (string, bool)) (string, error) {
	var b strings.Builder
	done := 0
	for _, a := range t.attrs {
		list := a.messages(t)
		if len(list) == 0 {
			continue
		}
		out := make([]string, len(a.tokens))
		for i, t := range a.tokens {
			out[i] = t.src
		}
		for _, m := range list {
			if err := m.put(out, words, attrEscape); err != nil {
				return "", err
			}
		}
		now := strings.Join(out, "")
		if a.quote == 0 && now != t.src[a.from-t.pos:a.to-t.pos] {
			now = `"` + now + `"`
		}
		b.WriteString(t.src[done : a.from-t.pos])
		b.WriteString(now)
		done = a.to - t.pos
	}
	b.WriteString(t.src[done:])
	return b.String(), nil
}
