// Command hard attacks the built program and prints what broke.
//
// It drives the program, which it builds in .cache/hard/bin, and its page as processes, the way a user does, with
// damaged files, kills, full disks, many writers and strangers on the page. Each
// attack is a kind; a kind has cases; all that is random in a case comes from the
// seed, the kind's name and the case's number, so that
//
//	go run ./cmd/internal/trial/hard -seed 7 -only takes -case 131
//
// makes that case again. Where a process is killed or raced, the moment comes
// from the seed and what it hits depends on the machine.
//
// To add a kind: a function that returns a kind, and a line in kinds.
package main
