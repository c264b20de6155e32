package rows

import "strings"

// asciiOf is the ASCII sign for each sign that the pages use.
var asciiOf = map[rune]rune{
	'█': '#', '░': ':', '·': '.', '─': '-', '◆': 'o', '«': '<', '»': '>', '▲': '^', '▼': 'v', '×': 'x', '–': '-', '−': '-', '…': '~', '→': '>',
	'▸': '>', '▹': '-', '±': '+', '≈': '~', '│': '|', '“': '"', '”': '"', '’': '\'', '↑': '^', '↓': 'v', '³': '3',
}

// ASCII is the sign that stands for a character where the locale is not UTF-8.
func ASCII(r rune) rune {
	if r < 0x80 {
		return r
	}
	if a, ok := asciiOf[r]; ok {
		return a
	}
	return '?'
}

// ASCIIText is a text of ASCII signs alone.
func ASCIIText(s string) string { return strings.Map(ASCII, s) }
