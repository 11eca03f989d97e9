package lace

import "strings"

// The letters are drawn for weaving: strokes one hole wide, no more holes side by
// side than a stroke needs, and no stem longer than 7 rows, so that none becomes one
// long slit. Each is 7 rows, the top one first.
var letterforms = map[rune][letterRows]string{
	'A':  {".oo.", "o..o", "o..o", "oooo", "o..o", "o..o", "o..o"},
	'B':  {"ooo.", "o..o", "o..o", "ooo.", "o..o", "o..o", "ooo."},
	'C':  {".oo.", "o..o", "o...", "o...", "o...", "o..o", ".oo."},
	'D':  {"ooo.", "o..o", "o..o", "o..o", "o..o", "o..o", "ooo."},
	'E':  {"oooo", "o...", "o...", "ooo.", "o...", "o...", "oooo"},
	'F':  {"oooo", "o...", "o...", "ooo.", "o...", "o...", "o..."},
	'G':  {".oo.", "o..o", "o...", "o.oo", "o..o", "o..o", ".oo."},
	'H':  {"o..o", "o..o", "o..o", "oooo", "o..o", "o..o", "o..o"},
	'I':  {"ooo", ".o.", ".o.", ".o.", ".o.", ".o.", "ooo"},
	'J':  {"...o", "...o", "...o", "...o", "...o", "o..o", ".oo."},
	'K':  {"o..o", "o..o", "o.o.", "oo..", "o.o.", "o..o", "o..o"},
	'L':  {"o...", "o...", "o...", "o...", "o...", "o...", "oooo"},
	'M':  {"o...o", "oo.oo", "o.o.o", "o.o.o", "o...o", "o...o", "o...o"},
	'N':  {"o..o", "oo.o", "oo.o", "o.oo", "o.oo", "o..o", "o..o"},
	'O':  {".oo.", "o..o", "o..o", "o..o", "o..o", "o..o", ".oo."},
	'P':  {"ooo.", "o..o", "o..o", "ooo.", "o...", "o...", "o..."},
	'Q':  {".oo.", "o..o", "o..o", "o..o", "o..o", ".oo.", "..oo"},
	'R':  {"ooo.", "o..o", "o..o", "ooo.", "oo..", "o.o.", "o..o"},
	'S':  {".ooo", "o...", "o...", ".oo.", "...o", "...o", "ooo."},
	'T':  {"ooooo", "..o..", "..o..", "..o..", "..o..", "..o..", "..o.."},
	'U':  {"o..o", "o..o", "o..o", "o..o", "o..o", "o..o", ".oo."},
	'V':  {"o...o", "o...o", "o...o", ".o.o.", ".o.o.", ".o.o.", "..o.."},
	'W':  {"o...o", "o...o", "o...o", "o.o.o", "o.o.o", "oo.oo", "o...o"},
	'X':  {"o...o", "o...o", ".o.o.", "..o..", ".o.o.", "o...o", "o...o"},
	'Y':  {"o...o", "o...o", ".o.o.", "..o..", "..o..", "..o..", "..o.."},
	'Z':  {"oooo", "...o", "..o.", "..o.", ".o..", "o...", "oooo"},
	'0':  {".o.", "o.o", "o.o", "o.o", "o.o", "o.o", ".o."},
	'1':  {".o.", "oo.", ".o.", ".o.", ".o.", ".o.", "ooo"},
	'2':  {".oo.", "o..o", "...o", "..o.", ".o..", "o...", "oooo"},
	'3':  {".oo.", "o..o", "...o", ".oo.", "...o", "o..o", ".oo."},
	'4':  {"...o", "..oo", ".o.o", "o..o", "oooo", "...o", "...o"},
	'5':  {"oooo", "o...", "o...", "ooo.", "...o", "o..o", ".oo."},
	'6':  {".oo.", "o...", "o...", "ooo.", "o..o", "o..o", ".oo."},
	'7':  {"oooo", "...o", "...o", "..o.", "..o.", ".o..", ".o.."},
	'8':  {".oo.", "o..o", "o..o", ".oo.", "o..o", "o..o", ".oo."},
	'9':  {".oo.", "o..o", "o..o", ".ooo", "...o", "...o", ".oo."},
	'Æ':  {".ooooo", "o..o..", "o..o..", "ooooo.", "o..o..", "o..o..", "o..ooo"},
	'Œ':  {".ooooo", "o..o..", "o..o..", "o..oo.", "o..o..", "o..o..", ".ooooo"},
	'Ø':  {".ooo.", "o...o", "o..oo", "o.o.o", "oo..o", "o...o", ".ooo."},
	'ẞ':  {".oo.", "o..o", "o..o", "o.o.", "o..o", "o..o", "o.o."},
	'Ł':  {".o...", ".o...", ".o.o.", ".oo..", "oo...", ".o...", ".oooo"},
	'Ð':  {".ooo.", ".o..o", ".o..o", "ooo.o", ".o..o", ".o..o", ".ooo."},
	'Þ':  {"o...", "ooo.", "o..o", "o..o", "ooo.", "o...", "o..."},
	'.':  {".", ".", ".", ".", ".", ".", "o"},
	',':  {"..", "..", "..", "..", "..", ".o", "o."},
	'-':  {"...", "...", "...", "ooo", "...", "...", "..."},
	'+':  {"...", "...", ".o.", "ooo", ".o.", "...", "..."},
	'=':  {"...", "...", "ooo", "...", "ooo", "...", "..."},
	'!':  {"o", "o", "o", "o", "o", ".", "o"},
	'?':  {".oo.", "o..o", "...o", "..o.", "..o.", "....", "..o."},
	'&':  {".oo..", "o..o.", "o..o.", ".oo..", "o.o.o", "o..o.", ".oo.o"},
	'\'': {"o", "o", ".", ".", ".", ".", "."},
	':':  {".", ".", "o", ".", "o", ".", "."},
	'/':  {"..o", "..o", ".o.", ".o.", ".o.", "o..", "o.."},
	'(':  {".o", "o.", "o.", "o.", "o.", "o.", ".o"},
	')':  {"o.", ".o", ".o", ".o", ".o", ".o", "o."},
	'♥':  {".oo.oo.", "o..o..o", "o.....o", "o.....o", ".o...o.", "..o.o..", "...o..."},
	'★':  {"o..o..o", ".o.o.o.", "..ooo..", "ooooooo", "..ooo..", ".o.o.o.", "o..o..o"},
}

// alike are signs that are written as another, besides small letters as capitals.
var alike = map[rune]rune{
	'ß': 'ẞ', // which the tables of capitals leave as it is
	'Đ': 'Ð', 'đ': 'Ð',
	'’': '\'', '‘': '\'', '´': '\'', '`': '\'',
	'–': '-', '—': '-', '−': '-', '‐': '-', '‑': '-',
	'♡': '♥', '❤': '♥', '☆': '★', '*': '★',
}

// accent is what stands above a letter, or hangs below it, drawn 3 and 4 places
// wide for letters of odd and of even width. Above, an empty row keeps it apart;
// what hangs touches.
type accent struct {
	odd, even []string
	hangs     bool
}

// accents are named by the sign that combines with the letter before it.
var accents = map[rune]accent{
	'\u0300': {odd: []string{"o..", ".o."}, even: []string{".o..", "..o."}}, // grave
	'\u0301': {odd: []string{"..o", ".o."}, even: []string{"..o.", ".o.."}}, // acute
	'\u0302': {odd: []string{".o.", "o.o"}, even: []string{".oo.", "o..o"}}, // circumflex
	'\u0303': {odd: []string{".oo", "oo."}, even: []string{".o.o", "o.o."}}, // tilde
	'\u0307': {odd: []string{".o."}, even: []string{".o.."}},                // dot
	'\u0308': {odd: []string{"o.o"}, even: []string{"o..o"}},                // diaeresis
	'\u030a': {odd: []string{".o.", "o.o", ".o."}, even: []string{".oo.", ".oo."}},
	'\u030b': {odd: []string{"o.o", "o.o"}, even: []string{"o..o", "o..o"}},              // double acute
	'\u030c': {odd: []string{"o.o", ".o."}, even: []string{"o..o", ".oo."}},              // caron
	'\u0327': {odd: []string{"..o", ".o."}, even: []string{"..o.", ".o.."}, hangs: true}, // cedilla
	'\u0328': {odd: []string{".o.", "..o"}, even: []string{"..o.", "...o"}, hangs: true}, // ogonek
}

// on sets the accent in the middle of a letter's width.
func (a accent) on(g glyph) glyph {
	rows, wide := a.even, 4
	if g.width()%2 == 1 {
		rows, wide = a.odd, 3
	}
	aside := strings.Repeat(".", (g.width()-wide)/2)
	var set []string
	for _, row := range rows {
		set = append(set, aside+row+aside)
	}
	if a.hangs {
		g.below = set
		return g
	}
	g.above = append(set, strings.Repeat(".", g.width()))
	return g
}

// composed is a letter with an accent that has a sign of its own.
type composed struct{ base, accent rune }

var accented = composedOf(map[rune]string{
	'\u0300': "AÀ EÈ IÌ OÒ UÙ",
	'\u0301': "AÁ EÉ IÍ OÓ UÚ YÝ CĆ NŃ SŚ ZŹ",
	'\u0302': "AÂ EÊ IÎ OÔ UÛ",
	'\u0303': "AÃ NÑ OÕ",
	'\u0307': "EĖ Iİ ZŻ",
	'\u0308': "AÄ EË IÏ OÖ UÜ YŸ",
	'\u030a': "AÅ UŮ",
	'\u030b': "OŐ UŰ",
	'\u030c': "CČ DĎ EĚ NŇ RŘ SŠ TŤ ZŽ",
	'\u0327': "CÇ SŞ",
	'\u0328': "AĄ EĘ",
})

// composedOf reads pairs of a letter and the same with its accent.
func composedOf(pairs map[rune]string) map[rune]composed {
	all := map[rune]composed{}
	for accent, text := range pairs {
		letters := []rune(strings.ReplaceAll(text, " ", ""))
		for i := 0; i+1 < len(letters); i += 2 {
			all[letters[i+1]] = composed{base: letters[i], accent: accent}
		}
	}
	return all
}
