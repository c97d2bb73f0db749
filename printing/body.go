package printing

// body: the body's outline and what stands on it.
var body = []Entry{}
