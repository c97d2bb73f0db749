package markup

import (
	"fmt"
	"strconv"
	"strings"
)

// space is the white space of HTML; Go's templates trim the first four.
const (
	space     = " \t\r\n\f"
	trimSpace = " \t\r\n"
)

type kind byte

const (
	text   kind = iota // words between tags; or of an attribute's value
	value              // an action that writes something
	tag                // <a …>, </a>
	broken             // what ends a run: a steering action, a comment, a doctype, a raw element, the end of a line where lines count
)

// token is a piece of the source; all of them together are the source.
type token struct {
	kind kind
	src  string
	pos  int // in the whole source

	trimLeft, trimRight bool // an action that takes away the white space before, after it

	name  string // of a tag, lower case; "" when an action is part of it
	close bool
	attrs []attr
}

// attr is an attribute of a tag with a value.
type attr struct {
	name     string // lower case; may have actions in it
	from, to int    // its value in the whole source, without quotes
	quote    byte   // 0 for none
	tokens   []token
}

// said is the id of a text, and where it begins; in a page, of a {{text "…"}}.
type said struct {
	pos int
	id  string
}

type page struct {
	tokens []token
	said   []said
}

type reader struct {
	src string
	pos int
	page
	pre int // how many elements are open in which lines count
}

// broke says where the source ends too early.
func (r *reader) broke(pos int, what string) error {
	return fmt.Errorf("line %d: %s", 1+strings.Count(r.src[:pos], "\n"), what)
}

// read takes a source apart. With an error the page has what came before.
func read(src string) (page, error) {
	r := &reader{src: src}
	for r.pos < len(src) {
		if err := r.next(); err != nil {
			return r.page, err
		}
	}
	return r.page, nil
}

func (r *reader) rest() string { return r.src[r.pos:] }

func (r *reader) add(t token) { r.tokens = append(r.tokens, t) }

// gap adds what stands between start and here as something that ends a run.
func (r *reader) gap(start int) { r.add(token{kind: broken, src: r.src[start:r.pos], pos: start}) }

func (r *reader) next() error {
	start := r.pos
	s := r.rest()
	switch {
	case strings.HasPrefix(s, "{{"):
		t, err := r.action()
		if err != nil {
			return err
		}
		r.add(t)
		return nil
	case strings.HasPrefix(s, "<!--"):
		r.pos += len("<!--")
		err := r.until("-->")
		r.gap(start)
		return err
	case strings.HasPrefix(s, "<!"), strings.HasPrefix(s, "<?"):
		r.pos += 2
		err := r.until(">")
		r.gap(start)
		return err
	case beginsTag(s):
		t, err := r.tag()
		if err != nil {
			return err
		}
		return r.element(t)
	}
	r.pos++
	for r.pos < len(r.src) && !strings.HasPrefix(r.rest(), "{{") && !beginsMarkup(r.rest()) {
		r.pos++
	}
	r.words(start)
	return nil
}

// words adds text from start to here, cut at the ends of lines where they count.
func (r *reader) words(start int) {
	for start < r.pos {
		s := r.src[start:r.pos]
		if r.pre > 0 {
			if s[0] == '\n' {
				r.add(token{kind: broken, src: "\n", pos: start})
				start++
				continue
			}
			if i := strings.IndexByte(s, '\n'); i >= 0 {
				s = s[:i]
			}
		}
		r.add(token{kind: text, src: s, pos: start})
		start += len(s)
	}
}

// element adds a tag, and what it encloses where that is no markup.
func (r *reader) element(t token) error {
	switch {
	case t.name == "pre" && !t.close:
		r.pre++
	case t.name == "pre" && r.pre > 0:
		r.pre--
	case t.close:
	case t.name == "script" || t.name == "style":
		start := t.pos
		err := r.untilClose(t.name, nil)
		r.gap(start)
		return err
	case t.name == "textarea" || t.name == "title":
		r.add(t)
		if t.name == "textarea" {
			r.pre++
			defer func() { r.pre-- }()
		}
		return r.untilClose(t.name, r.words)
	}
	r.add(t)
	return nil
}

// untilClose reads on to the closing tag of a raw element, or the end. Without words the closing tag is read too; with it text and
// actions are added.
func (r *reader) untilClose(name string, words func(start int)) error {
	start := r.pos
	for r.pos < len(r.src) {
		s := r.rest()
		switch {
		case strings.HasPrefix(s, "{{"):
			if words != nil {
				words(start)
			}
			t, err := r.action()
			if err != nil {
				return err
			}
			if words != nil {
				r.add(t)
			}
			start = r.pos
		case closes(s, name):
			if words != nil {
				words(start)
				return nil
			}
			_, err := r.tag()
			return err
		default:
			r.pos++
		}
	}
	if words != nil {
		words(start)
	}
	return nil
}

// until reads on past end, or to the end of the source, whatever the actions between hold.
func (r *reader) until(end string) error {
	for r.pos < len(r.src) {
		switch s := r.rest(); {
		case strings.HasPrefix(s, "{{"):
			if _, err := r.action(); err != nil {
				return err
			}
		case strings.HasPrefix(s, end):
			r.pos += len(end)
			return nil
		default:
			r.pos++
		}
	}
	return nil
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

func blank(c byte) bool { return strings.IndexByte(space, c) >= 0 }

// beginsTag follows the HTML standard, 13.2.5.6 and 13.2.5.7: before anything but a letter < and </ are words.
func beginsTag(s string) bool {
	if s[0] != '<' {
		return false
	}
	s = strings.TrimPrefix(s[1:], "/")
	return s != "" && letter(s[0])
}

func beginsMarkup(s string) bool {
	return beginsTag(s) || strings.HasPrefix(s, "<!") || strings.HasPrefix(s, "<?")
}

// closes reports whether s begins with the closing tag of a raw element.
func closes(s, name string) bool {
	n := len("</") + len(name)
	return len(s) >= n && s[:2] == "</" && strings.EqualFold(s[2:n], name) &&
		(len(s) == n || blank(s[n]) || s[n] == '/' || s[n] == '>')
}

// tag reads a tag, the actions in it included.
func (r *reader) tag() (token, error) {
	t := token{kind: tag, pos: r.pos}
	r.pos++
	if r.src[r.pos] == '/' {
		t.close = true
		r.pos++
	}
	plain := true
	start := r.pos
	for r.pos < len(r.src) && !blank(r.src[r.pos]) && r.src[r.pos] != '/' && r.src[r.pos] != '>' {
		if strings.HasPrefix(r.rest(), "{{") {
			plain = false
			if _, err := r.action(); err != nil {
				return t, err
			}
			continue
		}
		r.pos++
	}
	if plain {
		t.name = strings.ToLower(r.src[start:r.pos])
	}
	for {
		if r.pos >= len(r.src) {
			return t, r.broke(t.pos, "this tag does not end")
		}
		switch c := r.src[r.pos]; {
		case c == '>':
			r.pos++
			t.src = r.src[t.pos:r.pos]
			return t, nil
		case blank(c) || c == '/' || c == '=':
			r.pos++
		case c == '"' || c == '\'': // after a steering action that chose the value
			if err := r.quoted(&attr{}); err != nil {
				return t, err
			}
		case strings.HasPrefix(r.rest(), "{{"):
			if _, err := r.action(); err != nil {
				return t, err
			}
		default:
			a, has, err := r.attr()
			if err != nil {
				return t, err
			}
			if has {
				t.attrs = append(t.attrs, a)
			}
		}
	}
}

// attr reads an attribute; has reports that it has a value.
func (r *reader) attr() (a attr, has bool, err error) {
	start := r.pos
name:
	for r.pos < len(r.src) {
		switch c := r.src[r.pos]; {
		case strings.HasPrefix(r.rest(), "{{"):
			at, heard := r.pos, len(r.said)
			t, err := r.action()
			if err != nil {
				return a, false, err
			}
			if t.kind != value {
				r.pos, r.said = at, r.said[:heard]
				break name
			}
		case blank(c) || c == '=' || c == '>' || c == '/':
			break name
		default:
			r.pos++
		}
	}
	a.name = strings.ToLower(r.src[start:r.pos])
	after := r.pos
	r.blanks()
	if r.pos >= len(r.src) || r.src[r.pos] != '=' {
		r.pos = after
		return a, false, nil
	}
	r.pos++
	r.blanks()
	if r.pos >= len(r.src) {
		return a, false, nil // the tag does not end
	}
	if c := r.src[r.pos]; c == '"' || c == '\'' {
		return a, true, r.quoted(&a)
	}
	return a, true, r.unquoted(&a)
}

func (r *reader) blanks() {
	for r.pos < len(r.src) && blank(r.src[r.pos]) {
		r.pos++
	}
}

func (r *reader) quoted(a *attr) error {
	start := r.pos
	a.quote = r.src[r.pos]
	r.pos++
	a.from = r.pos
	if err := r.value(a, func(c byte) bool { return c == a.quote }); err != nil {
		return err
	}
	if r.pos >= len(r.src) {
		return r.broke(start, "this quote does not end")
	}
	r.pos++
	return nil
}

// unquoted reads a value without quotes. One that a steering action begins may have quotes after it: they are left for the tag.
func (r *reader) unquoted(a *attr) error {
	a.from = r.pos
	return r.value(a, func(c byte) bool {
		n := len(a.tokens)
		return blank(c) || c == '>' || n > 0 && a.tokens[n-1].kind == broken && (c == '"' || c == '\'')
	})
}

// value reads text and actions up to a character that ends them.
func (r *reader) value(a *attr, ends func(c byte) bool) error {
	start := r.pos
	words := func() {
		if start < r.pos {
			a.tokens = append(a.tokens, token{kind: text, src: r.src[start:r.pos], pos: start})
		}
	}
	for r.pos < len(r.src) && !ends(r.src[r.pos]) {
		if !strings.HasPrefix(r.rest(), "{{") {
			r.pos++
			continue
		}
		words()
		t, err := r.action()
		if err != nil {
			return err
		}
		a.tokens = append(a.tokens, t)
		start = r.pos
	}
	words()
	a.to = r.pos
	return nil
}

// action reads {{…}} as text/template does: strings of three sorts may have braces in them, and a comment anything.
func (r *reader) action() (token, error) {
	t := token{kind: value, pos: r.pos}
	r.pos += len("{{")
	if s := r.rest(); len(s) > 1 && s[0] == '-' && strings.IndexByte(trimSpace, s[1]) >= 0 {
		t.trimLeft = true
		r.pos += 2
	}
	start := r.pos
	if strings.HasPrefix(r.rest(), "/*") {
		i := strings.Index(r.rest()[2:], "*/")
		if i < 0 {
			return t, r.broke(t.pos, "this comment does not end")
		}
		r.pos += i + len("/**/")
	}
	var list []word
	for {
		if r.pos >= len(r.src) {
			return t, r.broke(t.pos, "this action does not end")
		}
		switch s := r.rest(); {
		case strings.HasPrefix(s, "}}"):
			inner := r.src[start:r.pos]
			if n := len(inner); n > 1 && inner[n-1] == '-' && strings.IndexByte(trimSpace, inner[n-2]) >= 0 {
				t.trimRight = true
				if n := len(list); n > 0 && list[n-1].src == "-" {
					list = list[:n-1]
				}
			}
			r.pos += len("}}")
			t.src = r.src[t.pos:r.pos]
			if steers(list) {
				t.kind = broken
			}
			r.hear(list)
			return t, nil
		case s[0] == '"' || s[0] == '\'' || s[0] == '`':
			n := quotedLen(s)
			if n == 0 {
				return t, r.broke(r.pos, "this string does not end")
			}
			list = append(list, word{s[:n], r.pos})
			r.pos += n
		case blank(s[0]):
			r.pos++
		default:
			n := 1
			for wordy(s[0]) && n < len(s) && wordy(s[n]) {
				n++
			}
			list = append(list, word{s[:n], r.pos})
			r.pos += n
		}
	}
}

// word is a piece of an action: a name with its dots, a string, a sign.
type word struct {
	src string
	pos int
}

func wordy(c byte) bool {
	return letter(c) || c >= '0' && c <= '9' || c == '_' || c == '.' || c == '$' || c >= 0x80
}

// quotedLen is the length of the string or character s begins with; 0 if it does not end.
func quotedLen(s string) int {
	for i := 1; i < len(s); i++ {
		switch {
		case s[i] == s[0]:
			return i + 1
		case s[0] == '`':
		case s[i] == '\n':
			return 0
		case s[i] == '\\':
			i++
		}
	}
	return 0
}

// steers reports that an action writes nothing itself.
func steers(list []word) bool {
	if len(list) == 0 { // a comment
		return true
	}
	switch first := list[0].src; first {
	case "if", "else", "end", "range", "with", "define", "template", "block", "break", "continue":
		return true
	default:
		if first[0] != '$' || len(list) < 2 {
			return false
		}
	}
	return list[1].src == "=" || list[1].src == ":" && len(list) > 2 && list[2].src == "="
}

// hear notes the strings that an action gives to text.
func (r *reader) hear(list []word) {
	for i := 1; i < len(list); i++ {
		if c := list[i].src[0]; list[i-1].src != "text" || c != '"' && c != '`' {
			continue
		}
		if id, err := strconv.Unquote(list[i].src); err == nil && id != "" {
			r.said = append(r.said, said{list[i].pos, id})
		}
	}
}
