package printing

// joint: how neck and body are set to each other and bolted.
var joint = []Entry{}
