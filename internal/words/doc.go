// Package words collects every text that a person reads: of the Go packages,
// the pages, the rule cards, the figures, the API documents and the guides.
// make words prints them to be read in one sitting; the tests hold each to
// banned.yaml, which says what is not to be written and what to write in its
// place. It reads sources, links none, and is no part of the program.
package words
