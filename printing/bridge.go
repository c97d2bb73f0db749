package printing

// bridge: bridge, saddle and nut.
var bridge = []Entry{}
