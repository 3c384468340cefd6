// Package guide leads a person through a recording: it says what to do, sees
// from the samples whether it was done, and gives each sample the phase that
// it is to be written with. One implementation stands behind the terminal and
// the page.
//
// Data passes one way: rows → tiles of 50 ms per axis → the attempt under way
// → verdict → the next attempt or step. Guide is a pure state machine: it has
// no clock of its own but the times of the rows, no terminal and no goroutines,
// so that a test leads it through an hour in a second. Session puts a lock
// around it and writes the rows.
//
// Nothing has to be pressed: hands and feet are busy. Each step waits for the
// movement to begin, is judged when it ends, is asked for once more where it
// did not come off, and is left out when nothing happens for long. Sweeps come
// first, as the input library holds an axis still until it has been moved.
package guide
