//! From a template to nodes.

use super::Markup;
use super::hole::{Hole, fill};
use std::rc::Rc;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Document, Element, Node};

const SVG: &str = "http://www.w3.org/2000/svg";

/// Nodes made from a template.
pub struct Built {
    /// Which.
    pub template: &'static str,
    /// The outermost nodes, in order.
    pub top: Vec<Top>,
    /// What was left open.
    pub holes: Vec<Rc<Hole>>,
}

/// An outermost node.
pub enum Top {
    /// An element or text.
    Node(Node),
    /// A child hole with all that stands in it.
    Hole(Rc<Hole>),
}

/// What the browser made. That it can is taken for granted: half a page might leave out a caution, so where it cannot
/// the page stops, and says so.
#[expect(clippy::panic, reason = "see above")]
pub fn made<T>(result: Result<T, JsValue>) -> T {
    result.unwrap_or_else(|error| panic!("the browser makes no more nodes: {error:?}"))
}

thread_local! {
    static DOCUMENT: Document = made(
        web_sys::window().and_then(|window| window.document()).ok_or_else(|| JsValue::from_str("no document")),
    );
}

/// A text node.
pub fn text(words: &str) -> web_sys::Text {
    DOCUMENT.with(|document| document.create_text_node(words))
}

/// Puts a node before another, or last.
pub fn insert(parent: &Node, node: &Node, before: Option<&Node>) {
    made(parent.insert_before(node, before));
}

/// Puts a node before another.
pub fn insert_before(end: &Node, node: &Node) {
    made(
        end.parent_node()
            .ok_or_else(|| JsValue::from_str("no parent"))
            .and_then(|p| p.insert_before(node, Some(end))),
    );
}

/// Makes the nodes of a template and puts them into `parent`.
pub fn build(template: &'static str, values: Box<[Markup]>, parent: &Node, before: Option<&Node>) -> Built {
    let mut built = Built { template, top: Vec::new(), holes: Vec::new() };
    let mut values = values.into_vec().into_iter();
    // The elements that are open, innermost last.
    let mut open: Vec<Element> = Vec::new();
    for line in template.lines() {
        let mut rest = line.chars();
        let (Some(kind), name) = (rest.next(), rest.as_str()) else { continue };
        match kind {
            '<' | '(' => {
                open.push(made(DOCUMENT.with(|document| match kind {
                    '<' => document.create_element(name),
                    _ => document.create_element_ns(Some(SVG), name),
                })));
            }
            '>' => {
                let Some(element) = open.pop() else { continue };
                match open.last() {
                    Some(around) => insert(around, &element, None),
                    None => {
                        insert(parent, &element, before);
                        built.top.push(Top::Node(element.into()));
                    }
                }
            }
            ' ' => {
                if let (Some(element), Some((name, value))) = (open.last(), name.split_once('=')) {
                    made(element.set_attribute(name, value));
                }
            }
            '\'' => {
                let words = text(name);
                match open.last() {
                    Some(around) => insert(around, &words, None),
                    None => {
                        insert(parent, &words, before);
                        built.top.push(Top::Node(words.into()));
                    }
                }
            }
            '{' => {
                let hole = match open.last() {
                    Some(around) => Hole::child(around, None),
                    None => Hole::child(parent, before),
                };
                let Some(value) = values.next() else { continue };
                fill(&hole, value);
                if open.is_empty() {
                    built.top.push(Top::Hole(Rc::clone(&hole)));
                }
                built.holes.push(hole);
            }
            kind => {
                let (Some(element), Some(value)) = (open.last(), values.next()) else { continue };
                let hole = Hole::of(kind, name, element.unchecked_ref());
                fill(&hole, value);
                built.holes.push(hole);
            }
        }
    }
    built
}
