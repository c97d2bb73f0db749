package printing

// frets: what is laid out on the fretboard and the neck.
var frets = []Entry{}
