package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Readers and checkers of PNG and PDF that others wrote, from Debian: pngcheck,
// qpdf, Ghostscript and poppler's tools.

// tool skips the test where a program is not installed.
func tool(t *testing.T, name, debian string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("%s is not installed (Debian package %s)", name, debian)
	}
}

// run gives what a program says; that it fails is a failed test.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}

// keptFile writes a file for a program to read.
func keptFile(t *testing.T, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, content, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// checkPDF lets qpdf and Ghostscript read a PDF; neither may have a word to say
// of it.
func checkPDF(t *testing.T, pdf []byte) {
	t.Helper()
	tool(t, "qpdf", "qpdf")
	tool(t, "gs", "ghostscript")
	file := keptFile(t, "page.pdf", pdf)
	if said := run(t, "qpdf", "--check", file); !strings.Contains(said, "No syntax or stream encoding errors found") || strings.Contains(said, "WARNING") {
		t.Errorf("qpdf: %s", said)
	}
	if said := run(t, "gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dPDFSTOPONWARNING", "-sDEVICE=nullpage", file); said != "" {
		t.Errorf("gs: %s", said)
	}
}

// pagesBy are the pages of a PDF as a program draws them, so many dots per inch.
func pagesBy(t *testing.T, program string, pdf []byte, dpi int) []image.Image {
	t.Helper()
	file := keptFile(t, "page.pdf", pdf)
	dir := t.TempDir()
	switch program {
	case "pdftoppm":
		tool(t, program, "poppler-utils")
		run(t, program, "-r", fmt.Sprint(dpi), "-png", file, filepath.Join(dir, "p"))
	case "gs":
		tool(t, program, "ghostscript")
		run(t, program, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=png16m", "-dTextAlphaBits=4", "-dGraphicsAlphaBits=4",
			fmt.Sprintf("-r%d", dpi), "-sOutputFile="+filepath.Join(dir, "p-%03d.png"), file)
	}
	names, err := filepath.Glob(filepath.Join(dir, "*.png"))
	if err != nil || len(names) == 0 {
		t.Fatalf("%s drew nothing: %v", program, err)
	}
	var pages []image.Image
	for _, name := range names {
		content, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		m, err := png.Decode(bytes.NewReader(content))
		if err != nil {
			t.Fatal(err)
		}
		pages = append(pages, m)
	}
	return pages
}

// checkPageLook compares the pages of a PDF, as poppler and Ghostscript draw
// them, with the sheets that they were printed from, as PNG has them.
func checkPageLook(t *testing.T, sheets []*Sheet, pdf []byte) {
	t.Helper()
	const dpi = 144
	for _, program := range []string{"pdftoppm", "gs"} {
		pages := pagesBy(t, program, pdf, dpi)
		if len(pages) != len(sheets) {
			t.Fatalf("%s drew %d pages of %d", program, len(pages), len(sheets))
		}
		for i, s := range sheets {
			ours, err := pixels(s, pages[i].Bounds().Dx())
			if err != nil {
				t.Fatal(err)
			}
			if diff := pageDiff(ours, pages[i]); diff != "" {
				t.Errorf("page %d by %s: %s", i+1, program, diff)
			}
		}
	}
}

// pageDiff compares two drawings of a page at 144 dots per inch, each by a
// program of its own. They set letters and edges a fraction of a pixel apart,
// so squares of 12 pixels (1/12 in) are compared, and their mean may be a
// quarter off.
func pageDiff(a, b image.Image) string {
	size := a.Bounds().Size().Sub(b.Bounds().Size())
	if max(size.X, -size.X, size.Y, -size.Y) > 1 {
		return fmt.Sprintf("%v and %v pixels", a.Bounds().Size(), b.Bounds().Size())
	}
	return diffSquares(a, b, 12, 0.25)
}

func TestPNGIsValid(t *testing.T) {
	tool(t, "pngcheck", "pngcheck")
	b, err := PNG(everything(), 1200)
	if err != nil {
		t.Fatal(err)
	}
	if said := run(t, "pngcheck", "-v", keptFile(t, "a.png", b)); !strings.Contains(said, "No errors detected") || !strings.Contains(said, "1200 x 800 image, 8-bit palette") {
		t.Errorf("pngcheck: %s", said)
	}
}

func TestPDFIsValid(t *testing.T) {
	pdf, err := PDF([]*Sheet{everything(), everything()}, About{Title: "A proof – ½", Subject: "Łódź", Language: "en"})
	if err != nil {
		t.Fatal(err)
	}
	checkPDF(t, pdf)
}

func TestPDFLooksAsThePNG(t *testing.T) {
	sheets := []*Sheet{everything()}
	pdf, err := PDF(sheets, About{Title: "A proof", Language: "en"})
	if err != nil {
		t.Fatal(err)
	}
	checkPageLook(t, sheets, pdf)
}

// That the comparison of pages can fail: a line left out, and a word, are seen.
func TestPageDiffSees(t *testing.T) {
	whole := everything()
	ours, err := pixels(whole, 1200)
	if err != nil {
		t.Fatal(err)
	}
	for _, gone := range []int{2, 5, 6, 12} {
		less := NewSheet(whole.W, whole.H)
		less.Items = append(append(less.Items, whole.Items[:gone]...), whole.Items[gone+1:]...)
		other, err := pixels(less, 1200)
		if err != nil {
			t.Fatal(err)
		}
		if pageDiff(ours, other) == "" {
			t.Errorf("without item %d (%T) the page looks the same", gone, whole.Items[gone])
		}
	}
}

func TestPDFSpeaks(t *testing.T) {
	tool(t, "pdftotext", "poppler-utils")
	s := NewSheet(300, 200)
	lines := []string{"Under 3 ½ ⅓ ⅔ ⅝ 15″ × 4′", "← → ▲ ▼ ● ○ ① ② ⑨ ↻ 4–29 ×16", "Ångström, Łódź, Αγγελική, Елена", "a word 織 without a letter", "Brandão"}
	for i, line := range lines {
		s.Text(20, 30+float64(i)*20, 11, Style(i%4), Start, Black, line)
	}
	pdf, err := PDF([]*Sheet{s}, About{Title: "A title – ½ ⅓", Language: "en"})
	if err != nil {
		t.Fatal(err)
	}
	lines[4] = "Brandão"
	got := strings.Split(strings.TrimSpace(run(t, "pdftotext", "-raw", keptFile(t, "a.pdf", pdf), "-")), "\n")
	for i, line := range lines {
		if i >= len(got) || got[i] != line {
			t.Errorf("pdftotext reads %q instead of line %d, %q", got, i+1, line)
			break
		}
	}
	if info := run(t, "pdfinfo", keptFile(t, "a.pdf", pdf)); !strings.Contains(info, "A title – ½ ⅓") || strings.Contains(info, "Date") {
		t.Errorf("pdfinfo: %s", info)
	}
	fonts := run(t, "pdffonts", keptFile(t, "a.pdf", pdf))
	if n := strings.Count(fonts, " yes "); n < 8 || strings.Contains(fonts, "Type 3") {
		t.Errorf("not every font is embedded with its letters' names: %s", fonts)
	}
}
