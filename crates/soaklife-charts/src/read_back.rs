//! For tests: texts and marks of a drawing, read back from the SVG.

use crate::font::{self, Weight};
use crate::svg::Svg;
use crate::theme::Colour;
use resvg::usvg::roxmltree::{Document, Node};

/// The elements of a name.
pub(crate) fn elements<'d>(document: &'d Document<'d>, name: &'d str) -> impl Iterator<Item = Node<'d, 'd>> {
    document.descendants().filter(move |node| node.has_tag_name(name))
}

/// A number of an element.
pub(crate) fn number(node: &Node<'_, '_>, attribute: &str) -> f64 {
    node.attribute(attribute).and_then(|value| value.parse().ok()).unwrap()
}

/// Every text with its box: left, top, right, bottom, in tenths of a point.
pub(crate) fn text_boxes(document: &Document<'_>) -> Vec<(String, [f64; 4])> {
    let boxed = |node: Node<'_, '_>| {
        let text = node.text().unwrap_or_default().trim().to_owned();
        let size = number(&node, "font-size");
        let is_bold = node.attribute("font-weight") == Some("bold");
        let width = font::width(&text, size, if is_bold { Weight::Bold } else { Weight::Regular });
        let left = match node.attribute("text-anchor") {
            Some("middle") => number(&node, "x") - width / 2.0,
            Some("end") => number(&node, "x") - width,
            _ => number(&node, "x"),
        };
        let baseline = number(&node, "y") - 0.26 * size;
        (text, [left, baseline - 0.72 * size, left + width, baseline + 0.2 * size])
    };
    elements(document, "text").map(boxed).collect()
}

/// Every text, as it is read.
pub(crate) fn texts(svg: &Svg) -> Vec<String> {
    let document = Document::parse(svg.as_str()).unwrap();
    text_boxes(&document).into_iter().map(|(text, _)| text).collect()
}

/// The corners of a polygon or the points of a line, in points.
pub(crate) fn corners(node: &Node<'_, '_>) -> Vec<(f64, f64)> {
    let tenths = |number: &str| number.parse::<f64>().unwrap() / 10.0;
    let pair = |pair: &str| pair.split_once(',').map(|(x, y)| (tenths(x), tenths(y))).unwrap();
    node.attribute("points").unwrap().split_whitespace().map(pair).collect()
}

/// A colour as the SVG has it.
pub(crate) fn hex((red, green, blue): Colour) -> String {
    format!("#{red:02X}{green:02X}{blue:02X}")
}

/// No text is smaller than 7 pt, lies upon another or reaches out of the page.
pub(crate) fn assert_texts_are_readable(svg: &Svg) {
    const SMALLEST: f64 = 70.0;
    let document = Document::parse(svg.as_str()).unwrap();
    let page = document.root_element().attribute("viewBox").unwrap().to_owned();
    let page: Vec<f64> = page.split(' ').map(|side| side.parse().unwrap()).collect();
    for node in elements(&document, "text") {
        assert!(number(&node, "font-size") >= SMALLEST, "{:?} is smaller than 7 pt", node.text());
    }
    let boxes = text_boxes(&document);
    for (place, (a, [left, top, right, bottom])) in boxes.iter().enumerate() {
        let inside = *left >= 0.0 && *top >= 0.0 && *right <= page[2] && *bottom <= page[3];
        assert!(inside, "{a:?} reaches out of the page");
        for (b, other) in &boxes[place + 1..] {
            let apart = *right <= other[0] || other[2] <= *left || *bottom <= other[1] || other[3] <= *top;
            assert!(apart, "{a:?} and {b:?} overlap");
        }
    }
}
