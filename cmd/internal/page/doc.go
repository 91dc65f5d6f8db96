// Package page is the local web page: open a take, place the marks, see how good
// the number is, keep it.
//
// The server hands out pictures and readings, the script in static/ places marks
// and draws what comes back. The script computes no angle: marks go up, and the
// same Reading comes back that the command line prints.
//
// # Who may ask
//
// The server listens on loopback only. A key in the address, which is valid once and for
// five minutes, is traded for a cookie of this run. Every other request needs the cookie
// and our own Host; one that changes something, or has an Origin, needs our own Origin.
// The browser is told to load nothing from elsewhere and to store no picture. Nothing that
// comes from the browser is ever a path on disk: a take is named by its SHA-256.
//
// # Proposals
//
// If the pose network is on this machine, takes without marks get proposed marks in the background (proposals.go).
// They go into the work, marked as proposals. A reading of them has no verdict and is not kept until a person has
// confirmed each, or all at once. A person's mark is never replaced by a proposal.
//
// The addresses of athletes and kept readings have their number in the journal and no name; a
// name goes up in a body.
//
// # What is on disk
//
// All of it in one data folder, for its owner alone:
//
//	ecart-page          the marker: this folder is écart's, in this form
//	takes/SHA256        a take, byte for byte; of a part of a clip the clip, under the part's own id (parts.go)
//	about/SHA256.json   what it was called, and when it was opened
//	marks/SHA256.json   the work on it: marks, setup, a version number
//	today.json          the values for all takes and of each until it is kept, and the list
//	look/SHA256         small pictures of its frames, made again if they are missing
//	tracks/SHA256.csv   what was followed through it
//	lenses/ID.lens.json a lens file, and ID.json: what it is called and what its pictures gave
//	quizzes/ID.json     the key of a quiz; ID.open.json where heads are not covered
//	clips/              drawn clips, SHA256.mp4 and SHA256.covered.mp4; emptied at the start
//	incoming/           what is being written; emptied at the start
//	lock                who uses the folder, and an address that lets a browser in
//
// Files are written in incoming and moved into their place, whole or not at all.
package page
