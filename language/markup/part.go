package markup

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

type partKind byte

const (
	plain partKind = iota
	place          // {1}
	open           // <1>
	shut           // </1>
	void           // <1/>
)

// part is a piece of an id or a translation: words as they are read, or a mark with its number.
type part struct {
	kind partKind
	text string
	n    int
}

func (p part) String() string {
	switch p.kind {
	case place:
		return fmt.Sprintf("{%d}", p.n)
	case open:
		return fmt.Sprintf("<%d>", p.n)
	case shut:
		return fmt.Sprintf("</%d>", p.n)
	case void:
		return fmt.Sprintf("<%d/>", p.n)
	}
	return p.text
}

// mark is a part's sort and number, to count it by.
type mark struct {
	kind partKind
	n    int
}

func (p part) mark() mark { return mark{p.kind, p.n} }

// parts takes an id or a translation apart. The error goes on from "the translation ".
func parts(s string) ([]part, error) {
	var out []part
	for s != "" {
		i := strings.IndexAny(s, "<{")
		if i != 0 {
			if i < 0 {
				i = len(s)
			}
			out = append(out, part{kind: plain, text: s[:i]})
			s = s[i:]
			continue
		}
		p, rest, ok := cutMark(s)
		if !ok {
			switch {
			case strings.HasPrefix(s, "{{"):
				return nil, errors.New("has {{, which would begin an action")
			case s[0] == '{':
				return nil, errors.New("has a { that begins no placeholder such as {1}")
			}
			return nil, errors.New("has a < that begins no numbered tag such as <1>")
		}
		out = append(out, p)
		s = rest
	}
	return out, nil
}

// cutMark takes the mark off that s begins with.
func cutMark(s string) (p part, rest string, ok bool) {
	end := byte('>')
	switch {
	case s[0] == '{':
		p.kind, end = place, '}'
	case strings.HasPrefix(s, "</"):
		p.kind = shut
	default:
		p.kind = open
	}
	i := strings.IndexByte(s, end)
	if i < 0 {
		return part{}, "", false
	}
	inner := s[1:i]
	switch p.kind {
	case shut:
		inner = inner[1:]
	case open:
		if num, is := strings.CutSuffix(inner, "/"); is {
			p.kind, inner = void, num
		}
	}
	// A number is written in one way only, so that marks can be compared.
	n, err := strconv.Atoi(inner)
	if err != nil || n < 1 || strconv.Itoa(n) != inner {
		return part{}, "", false
	}
	p.n = n
	return p, s[i+1:], true
}

// count is how often a mark stands in a text, and the number of the tag it stands in; 0 for none.
type count struct{ times, within int }

// census counts the marks, and finds tags that do not balance.
func census(list []part) (map[mark]count, error) {
	has := map[mark]count{}
	var within []int
	for _, p := range list {
		if p.kind == plain {
			continue
		}
		if p.kind == shut {
			if len(within) == 0 || within[len(within)-1] != p.n {
				return nil, fmt.Errorf("has %s where it closes nothing", p)
			}
			within = within[:len(within)-1]
		}
		c := count{times: has[p.mark()].times + 1}
		if len(within) > 0 {
			c.within = within[len(within)-1]
		}
		has[p.mark()] = c
		if p.kind == open {
			within = append(within, p.n)
		}
	}
	if len(within) > 0 {
		return nil, fmt.Errorf("does not close <%d>", within[len(within)-1])
	}
	return has, nil
}
