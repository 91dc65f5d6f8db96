// Package squad has moved to package session. It is empty, and goes once no check names
// its folder any more.
package squad
