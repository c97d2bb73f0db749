package unit

import (
	"strings"
	"time"
)

// Date writes a time as a layout of package time asks, which each language may have its own of: "2 Jan 2006 15:04" is
// "2. Jan 2006 15:04" in German. The months are named in the maker's language. A layout names at most one month, as January or Jan.
func (s Style) Date(t time.Time, layout Text) string {
	form := layout.In(s)
	for _, m := range [...]struct {
		verb  string
		names *[12]Text
	}{{"January", &months}, {"Jan", &shortMonths}} {
		if before, after, ok := strings.Cut(form, m.verb); ok {
			return t.Format(before) + m.names[t.Month()-1].In(s) + t.Format(after)
		}
	}
	return t.Format(form)
}

var (
	months = [12]Text{"January", "February", "March", "April", "May‖month", "June", "July", "August", "September", "October", "November", "December"}
	// What stands in a date where there is little room.
	shortMonths = [12]Text{"Jan‖month", "Feb‖month", "Mar‖month", "Apr‖month", "May‖month, short", "Jun‖month", "Jul‖month", "Aug‖month", "Sep‖month", "Oct‖month", "Nov‖month", "Dec‖month"}
)
