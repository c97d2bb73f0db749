package printing

// seat: what is cut and measured at the heel.
var seat = []Entry{}
