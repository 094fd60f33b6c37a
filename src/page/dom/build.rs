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

/// A failure of the browser's own interface, which nothing here can mend: it is told, and the page goes on.
pub fn told<T>(result: Result<T, JsValue>) -> Option<T> {
    result.map_err(|error| web_sys::console::warn_1(&error)).ok()
}

thread_local! {
    static DOCUMENT: Option<Document> = web_sys::window().and_then(|window| window.document());
}

fn with_document<T>(make: impl FnOnce(&Document) -> T) -> Option<T> {
    DOCUMENT.with(|document| document.as_ref().map(make))
}

/// A text node.
pub fn text(words: &str) -> Option<web_sys::Text> {
    with_document(|document| document.create_text_node(words))
}

/// Puts a node before another, or last.
pub fn insert(parent: &Node, node: &Node, before: Option<&Node>) {
    told(parent.insert_before(node, before));
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
                let element = with_document(|document| match kind {
                    '<' => document.create_element(name),
                    _ => document.create_element_ns(Some(SVG), name),
                });
                open.extend(element.and_then(told));
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
                    told(element.set_attribute(name, value));
                }
            }
            '\'' => {
                let Some(words) = text(name) else { continue };
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
                let (Some(hole), Some(value)) = (hole, values.next()) else { continue };
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
