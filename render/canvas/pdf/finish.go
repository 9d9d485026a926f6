package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/md5"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"

	"ferrule/render/font"
)

// What the writer of the file makes is finished here, for two reasons. It puts attached files before the pages, while its
// outline and its links count the objects as if the pages came first: with files attached they all would lead to wrong pages. So
// it is given none, and they go behind everything else. And it writes links within the page that has them, where the format wants
// references to objects (ISO 32000-1, 7.7.3.3); a strict reader refuses the file else.

// firstLine is what a file of the format's version 1.7 begins with. The writer says 1.3, in which there are no attached files.
const firstLine = "%PDF-1.7\n"

// noFiles is the empty tree of attached files that the writer puts into the catalogue.
const noFiles = "/EmbeddedFiles << /Names [\n  \n] >>"

var (
	tail     = regexp.MustCompile(`^xref\n0 \d+\n((?:\d{10} \d{5} [fn] \n)+)trailer\n<<\n/Size \d+\n((?s:.*))>>\nstartxref\n\d+\n%%EOF\n$`)
	mediaBox = regexp.MustCompile(`/MediaBox \[[0-9. ]+\]\n`)
	linkDict = regexp.MustCompile(`<</Type /Annot [^<>]*>>`)
)

// A finisher writes a file anew, object by object.
type finisher struct {
	out     bytes.Buffer
	offsets []int // by the number of the object
}

// finish attaches files to a file and gives its links objects of their own. The error says that the file is not built as expected.
func finish(data []byte, files []Attached) ([]byte, error) {
	table := bytes.LastIndex(data, []byte("\nxref\n")) + 1
	end := tail.FindSubmatch(data[table:])
	if end == nil {
		return nil, errors.New("writing the PDF: its table of objects is not where it should be")
	}
	begins := map[int]int{} // offset -> number
	order := []int{table}
	entries := strings.Split(strings.TrimSuffix(string(end[1]), "\n"), "\n")
	for number, entry := range entries[1:] {
		offset, err := strconv.Atoi(entry[:10])
		if err != nil {
			return nil, fmt.Errorf("writing the PDF: %w", err)
		}
		begins[offset] = number + 1
		order = append(order, offset)
	}
	slices.Sort(order)
	size := mediaBox.Find(data[max(0, bytes.LastIndex(data, []byte("<</Type /Pages\n"))):])
	f := &finisher{offsets: make([]int, len(entries))}
	f.out.Grow(len(data) + len(data)/8)
	f.out.WriteString(firstLine)
	for i, offset := range order[:len(order)-1] {
		object := data[offset:order[i+1]]
		switch {
		case bytes.Contains(object[:min(32, len(object))], []byte(" 0 obj\n<</Type /Page\n")):
			object = f.linksOut(sized(object, size))
		case bytes.Contains(object, []byte(noFiles)):
			object = bytes.Replace(object, []byte(noFiles), f.attach(files), 1)
		}
		f.offsets[begins[offset]] = f.out.Len()
		f.out.Write(object)
	}
	f.close(end[2])
	return f.out.Bytes(), nil
}

// add writes an object that the writer did not have and returns its number.
func (f *finisher) add(body []byte) int {
	number := len(f.offsets)
	f.offsets = append(f.offsets, f.out.Len())
	fmt.Fprintf(&f.out, "%d 0 obj\n%s\nendobj\n", number, body)
	return number
}

// sized gives a page that is of the size of the first one that size in its own words: the writer leaves it out there, and not every
// reader finds it where it is inherited from.
func sized(page, size []byte) []byte {
	if mediaBox.Match(page) {
		return page
	}
	return bytes.Replace(page, []byte("/Type /Page\n"), append([]byte("/Type /Page\n"), size...), 1)
}

// linksOut writes the links of a page as objects and returns the page with references to them.
func (f *finisher) linksOut(page []byte) []byte {
	return linkDict.ReplaceAllFunc(page, func(link []byte) []byte { return fmt.Appendf(nil, "%d 0 R ", f.add(link)) })
}

// attach writes the attached files and returns the entry of the catalogue that names them, in their order.
func (f *finisher) attach(files []Attached) []byte {
	names := []byte("/EmbeddedFiles << /Names [")
	for i, a := range files {
		content := f.add(embedded(a))
		names = fmt.Appendf(names, "(%06d) %d 0 R ", i+1, f.add(specification(a, content)))
	}
	return append(names, "] >>"...)
}

// close writes the table of objects and what stands behind it.
func (f *finisher) close(trailer []byte) {
	start := f.out.Len()
	fmt.Fprintf(&f.out, "xref\n0 %d\n0000000000 65535 f \n", len(f.offsets))
	for _, offset := range f.offsets[1:] {
		fmt.Fprintf(&f.out, "%010d 00000 n \n", offset)
	}
	fmt.Fprintf(&f.out, "trailer\n<<\n/Size %d\n%s>>\nstartxref\n%d\n%%%%EOF\n", len(f.offsets), trailer, start)
}

// embedded is the object with the bytes of an attached file, with its length and MD5 checksum (ISO 32000-1, 7.11.4).
func embedded(f Attached) []byte {
	var packed, out bytes.Buffer
	w := zlib.NewWriter(&packed)
	// A bytes.Buffer never fails.
	_, _ = w.Write(f.Data)
	_ = w.Close()
	fmt.Fprintf(&out, "<< /Type /EmbeddedFile /Length %d /Filter /FlateDecode /Params << /CheckSum <%x> /Size %d >> >>\nstream\n", packed.Len(), md5.Sum(f.Data), len(f.Data))
	out.Write(packed.Bytes())
	out.WriteString("\nendstream")
	return out.Bytes()
}

// specification is the object that names an attached file whose bytes are in the object of that number.
func specification(f Attached, object int) []byte {
	name := hexText(f.Name)
	return fmt.Appendf(nil, "<< /Type /Filespec /F %s /UF %s /EF << /F %d 0 R /UF %d 0 R >> /Desc %s >>", name, name, object, object, hexText(f.Says))
}

// hexText writes a text as a string of the format: UTF-16 behind a byte order mark, in hexadecimal digits (ISO 32000-1, 7.9.2.2).
func hexText(text string) string {
	out := []byte("<FEFF")
	for _, unit := range utf16.Encode([]rune(font.Drawable(text))) {
		out = fmt.Appendf(out, "%04X", unit)
	}
	return string(append(out, '>'))
}
