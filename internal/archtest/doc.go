// Package archtest holds the house to its rules: which package may import
// which and why, that every package says what it is for, that no file grows
// beyond reading, that no test code is linked into the program, and that what
// is committed names nothing of the machine it was written on. It has tests
// only.
package archtest
