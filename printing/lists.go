package printing

// lists: what is read and ticked off rather than laid on wood.
var lists = []Entry{}
