// Command hard attacks the built program and prints what broke.
//
// It builds the program in .cache/hard/bin and runs it and its page as a user does, with
// damaged files, kills, full disks, many writers and strangers on the page. Each
// attack is a kind, and a kind has cases. The randomness of a case depends only on the
// seed, the kind's name and the case's number, so that
//
//	go run ./cmd/internal/trial/hard -seed 7 -only takes -case 131
//
// repeats that case. Where a process is killed or raced, the moment comes from the
// seed and the effect depends on the machine.
//
// To add a kind: a function for its field prepare, and a line in kinds.
package main
