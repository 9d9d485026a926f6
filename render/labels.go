package render

import (
	"bytes"
	"fmt"
	"strings"

	"ferrule/render/canvas"
	"ferrule/render/canvas/pdf"
	"ferrule/render/canvas/svg"
	"ferrule/render/label"
	"ferrule/render/sheet"
)

// labelsName is the word for labels: of the file for the first stock, and before the name of every other.
const labelsName = "labels"

func labelFile(stock label.Stock) string {
	if stock.Name == "" {
		return labelsName
	}
	return labelsName + "-" + strings.ToLower(stock.Name)
}

// labelFiles makes a PDF for each stock that labels are printed on, and says what did not fit. Labels are never cut for
// another paper: they come out at true size or not at all.
func labelFiles(in Input, s *sheet.Set) ([]File, error) {
	labels := label.Of(s)
	if len(labels) == 0 {
		return nil, nil
	}
	var files []File
	for _, stock := range label.Stocks(s.Netlist) {
		printed := label.Print(labels, stock)
		in.tellLabels(stock, printed)
		data, err := labelPDF(in, printed.Pages)
		if err != nil {
			return nil, fmt.Errorf("making %s.pdf: %w", labelFile(stock), err)
		}
		files = append(files, File{labelFile(stock) + ".pdf", data})
	}
	return files, nil
}

func labelPDF(in Input, pages []*canvas.Page) ([]byte, error) {
	var out bytes.Buffer
	if err := pdf.Write(&out, docOf(in), pages); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// tellLabels says what lost its room on a stock. That a label does not reach round a cable is said of tape, which is made for that.
func (in Input) tellLabels(stock label.Stock, printed label.Printed) {
	if in.Say == nil {
		return
	}
	for _, text := range printed.Short {
		in.Say(text)
	}
	if printed.Note != "" && stock.Tape() {
		in.Say(printed.Note)
	}
}

// drawLabels makes the labels of one stock, by the name of its file without the ending; false when the name is none.
func drawLabels(in Input, s *sheet.Set, name, format string) ([]byte, bool, error) {
	if name != labelsName && !strings.HasPrefix(name, labelsName+"-") {
		return nil, false, nil
	}
	var names []string
	for _, stock := range label.Stocks(s.Netlist) {
		if labelFile(stock) != strings.ToLower(name) {
			names = append(names, labelFile(stock))
			continue
		}
		printed := label.Print(label.Of(s), stock)
		if len(printed.Pages) == 0 {
			return nil, true, fmt.Errorf("this harness has nothing to label")
		}
		in.tellLabels(stock, printed)
		if format == "pdf" {
			data, err := labelPDF(in, printed.Pages)
			return data, true, err
		}
		if len(printed.Pages) > 1 {
			return nil, true, fmt.Errorf("%q is %d pages and an SVG holds one; ask for pdf", name, len(printed.Pages))
		}
		var out bytes.Buffer
		err := svg.Write(&out, printed.Pages[0])
		return out.Bytes(), true, err
	}
	return nil, true, fmt.Errorf("there are no labels %q; there are: %s", name, strings.Join(names, ", "))
}
