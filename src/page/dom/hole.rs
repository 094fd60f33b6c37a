//! A place in the page whose value may change, and what stands in it now.
//!
//! When a part follows what it reads and comes out made from the same template, its nodes stay and only their holes
//! are filled anew: the focus, an unfolded part and what is typed outlive it.

use super::build::{Built, Top, build, insert, insert_before, made, text};
use super::rows::{Kept, fill_rows};
use super::{Markup, effect, event};
use std::borrow::Cow;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{CharacterData, Element, HtmlElement, Node};

/// A place whose value may change.
pub struct Hole {
    /// What of `at` it is; the letters are those of a template.
    kind: char,
    /// Name of the attribute, class, property, style or event.
    name: &'static str,
    /// The element; of a child, the text node that stands after it and is itself the child while that is words.
    pub at: Node,
    pub now: RefCell<Now>,
}

/// What stands in a hole.
#[derive(Default)]
pub enum Now {
    /// Nothing was ever put there.
    #[default]
    New,
    /// Nothing, yes or no, or words.
    Plain(Markup),
    /// Nodes before `at`.
    Blocks(Vec<Block>),
    /// Rows before `at`.
    Rows(Vec<Kept>),
}

/// Something that stands among nodes.
pub enum Block {
    Text(web_sys::Text),
    Built(Built),
    Hole(Rc<Hole>),
}

impl Hole {
    /// Of an element.
    pub fn of(kind: char, name: &'static str, at: &Node) -> Rc<Self> {
        Rc::new(Hole { kind, name, at: at.clone(), now: RefCell::default() })
    }

    /// Among the nodes of `parent`.
    pub fn child(parent: &Node, before: Option<&Node>) -> Rc<Self> {
        let at = text("");
        insert(parent, &at, before);
        Hole::of('{', "", &at)
    }

    /// The first of its nodes.
    pub fn first(&self) -> Node {
        let first = match &*self.now.borrow() {
            Now::New | Now::Plain(_) => None,
            Now::Blocks(blocks) => blocks.first().map(Block::first),
            Now::Rows(rows) => rows.iter().find_map(|row| row.blocks.first()).map(Block::first),
        };
        first.unwrap_or_else(|| self.at.clone())
    }

    /// All of its nodes, in order.
    fn nodes(&self, to: &mut Vec<Node>) {
        match &*self.now.borrow() {
            Now::New | Now::Plain(_) => (),
            Now::Blocks(blocks) => blocks.iter().for_each(|block| block.nodes(to)),
            Now::Rows(rows) => rows.iter().flat_map(|row| &row.blocks).for_each(|block| block.nodes(to)),
        }
        to.push(self.at.clone());
    }
}

impl Block {
    /// The first of its nodes.
    pub fn first(&self) -> Node {
        match self {
            Block::Text(text) => text.clone().into(),
            Block::Hole(hole) => hole.first(),
            Block::Built(built) => match built.top.first() {
                Some(Top::Node(node)) => node.clone(),
                Some(Top::Hole(hole)) => hole.first(),
                // A template without nodes is never written.
                None => JsValue::NULL.unchecked_into(),
            },
        }
    }

    /// All of its outermost nodes, in order.
    pub fn nodes(&self, to: &mut Vec<Node>) {
        match self {
            Block::Text(text) => to.push(text.clone().into()),
            Block::Hole(hole) => hole.nodes(to),
            Block::Built(built) => built.top.iter().for_each(|top| match top {
                Top::Node(node) => to.push(node.clone()),
                Top::Hole(hole) => hole.nodes(to),
            }),
        }
    }
}

/// Takes them out of the page.
pub fn remove(blocks: Vec<Block>) {
    let mut nodes = Vec::new();
    blocks.iter().for_each(|block| block.nodes(&mut nodes));
    for node in nodes {
        if let Some(parent) = node.parent_node() {
            made(parent.remove_child(&node));
        }
    }
}

/// Fills a hole, and again whenever what is in it changes.
pub fn fill(hole: &Rc<Hole>, value: Markup) {
    match value {
        Markup::Follows(mut view) => {
            let hole = Rc::clone(hole);
            effect(Box::new(move || fill(&hole, view.view())));
        }
        Markup::Rows(list) => fill_rows(hole, list),
        Markup::Event(act) => event::listen(&hole.at, hole.name, act),
        Markup::Reference(reference) => reference.set(hole.at.clone().unchecked_into()),
        value if hole.kind == '{' => fill_child(hole, value),
        value => {
            let mut now = hole.now.borrow_mut();
            if !matches!(&*now, Now::Plain(before) if same(before, &value)) {
                write(hole, &value, matches!(*now, Now::New));
                *now = Now::Plain(value);
            }
        }
    }
}

/// Whether writing it would change nothing.
fn same(a: &Markup, b: &Markup) -> bool {
    match (a, b) {
        (Markup::None, Markup::None) => true,
        (Markup::Bool(a), Markup::Bool(b)) => a == b,
        (Markup::Text(a), Markup::Text(b)) => a == b,
        _ => false,
    }
}

/// Writes an attribute, class, property, style or inner HTML.
fn write(hole: &Hole, value: &Markup, new: bool) {
    let element: &Element = hole.at.unchecked_ref();
    let words = match value {
        Markup::Text(words) => Some(&**words),
        Markup::Bool(true) => Some(""),
        _ => None,
    };
    let yes = matches!(value, Markup::Bool(true));
    match (hole.kind, words) {
        ('@', Some(words)) => made(element.set_attribute(hole.name, words)),
        ('@', None) if !new => made(element.remove_attribute(hole.name)),
        ('.', _) if yes => made(element.class_list().add_1(hole.name)),
        ('.', _) if !new => made(element.class_list().remove_1(hole.name)),
        ('~', words) => {
            let style = element.unchecked_ref::<HtmlElement>().style();
            match words {
                Some(words) => made(style.set_property(hole.name, words)),
                None => drop(made(style.remove_property(hole.name))),
            }
        }
        ('#', words) => element.set_inner_html(words.unwrap_or_default()),
        (':', _) => {
            let name = JsValue::from_str(hole.name);
            let value = match value {
                Markup::Bool(yes) => JsValue::from_bool(*yes),
                _ => JsValue::from_str(words.unwrap_or_default()),
            };
            // Writing what stands there already would move the cursor.
            if made(js_sys::Reflect::get(element, &name)) != value {
                made(js_sys::Reflect::set(element, &name, &value));
            }
        }
        _ => (),
    }
}

/// Fills a place among nodes.
fn fill_child(hole: &Hole, value: Markup) {
    let before = hole.now.take();
    let words: &CharacterData = hole.at.unchecked_ref();
    let now = match value {
        Markup::None | Markup::Bool(_) | Markup::Text(_) => {
            let plain = match value {
                Markup::Text(text) => text,
                _ => Cow::Borrowed(""),
            };
            let was = match before {
                Now::Plain(Markup::Text(was)) => was,
                Now::Blocks(blocks) => {
                    remove(blocks);
                    Cow::Borrowed("")
                }
                Now::Rows(rows) => {
                    rows.into_iter().for_each(|row| remove(row.blocks));
                    Cow::Borrowed("")
                }
                _ => Cow::Borrowed(""),
            };
            if was != plain {
                words.set_data(&plain);
            }
            Now::Plain(Markup::Text(plain))
        }
        value => {
            let old = match before {
                Now::Blocks(blocks) => blocks,
                Now::Rows(rows) => {
                    rows.into_iter().for_each(|row| remove(row.blocks));
                    Vec::new()
                }
                Now::Plain(Markup::Text(was)) if !was.is_empty() => {
                    words.set_data("");
                    Vec::new()
                }
                _ => Vec::new(),
            };
            Now::Blocks(place(old, value, &hole.at))
        }
    };
    hole.now.replace(now);
}

/// Puts a view before `end`, where `old` stands.
pub fn place(old: Vec<Block>, value: Markup, end: &Node) -> Vec<Block> {
    let mut views = Vec::new();
    flatten(value, &mut views);
    let mut old = old.into_iter();
    let mut now = Vec::with_capacity(views.len());
    for view in views {
        let there = old.next();
        let block = match (there, view) {
            (Some(Block::Built(built)), Markup::Template(template, values)) if built.template == template => {
                built.holes.iter().zip(values.into_vec()).for_each(|(hole, value)| fill(hole, value));
                Some(Block::Built(built))
            }
            (Some(Block::Text(text)), Markup::Text(words)) => {
                if text.data() != words {
                    text.set_data(&words);
                }
                Some(Block::Text(text))
            }
            (Some(Block::Hole(hole)), view @ (Markup::Follows(_) | Markup::Rows(_))) => {
                fill(&hole, view);
                Some(Block::Hole(hole))
            }
            (there, view) => {
                let first = there.as_ref().map(Block::first);
                let block = make(view, first.as_ref().unwrap_or(end));
                remove(there.into_iter().collect());
                block
            }
        };
        now.extend(block);
    }
    remove(old.collect());
    now
}

/// One after the other, without what is nothing.
fn flatten(value: Markup, to: &mut Vec<Markup>) {
    match value {
        Markup::None | Markup::Bool(_) => (),
        Markup::List(list) => list.into_iter().for_each(|value| flatten(value, to)),
        value => to.push(value),
    }
}

/// Makes the nodes of a view before `end`.
fn make(view: Markup, end: &Node) -> Option<Block> {
    match view {
        Markup::Text(words) => {
            let text = text(&words);
            insert_before(end, &text);
            Some(Block::Text(text))
        }
        Markup::Template(template, values) => {
            end.parent_node().map(|parent| Block::Built(build(template, values, &parent, Some(end))))
        }
        Markup::Follows(_) | Markup::Rows(_) => {
            let hole = Hole::child(&end.parent_node()?, Some(end));
            fill(&hole, view);
            Some(Block::Hole(hole))
        }
        _ => None,
    }
}
