//! A list whose rows are known by a key: a row stays what it is while its key is in the list.

use super::hole::{Block, Hole, Now, place, remove};
use super::{IntoView, Markup, effect};
use leptos::prelude::Owner;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{CharacterData, Node};

/// A row that is wanted: its key, hashed, and its view.
pub struct Row {
    key: u64,
    view: Box<dyn FnOnce() -> Markup>,
}

/// A row that is there.
pub struct Kept {
    key: u64,
    owner: Owner,
    pub blocks: Vec<Block>,
}

/// The rows wanted now.
pub trait List {
    /// All of them, in order.
    fn rows(&mut self) -> Vec<Row>;
}

impl<F: FnMut() -> Vec<Row>> List for F {
    fn rows(&mut self) -> Vec<Row> {
        self()
    }
}

/// One view for each of a list, made once for its key.
pub fn each<T: 'static, I: IntoIterator<Item = T>, K: Hash, V: IntoView>(
    list: impl Fn() -> I + 'static,
    key: impl Fn(&T) -> K + 'static,
    row: impl Fn(T) -> V + 'static,
) -> Markup {
    let row = Rc::new(row);
    Markup::Rows(Box::new(move || {
        let rows = list().into_iter().map(|of| {
            let mut hasher = DefaultHasher::new();
            key(&of).hash(&mut hasher);
            let row = Rc::clone(&row);
            Row { key: hasher.finish(), view: Box::new(move || row(of).into_view()) }
        });
        rows.collect()
    }))
}

/// Fills a hole with rows, and again whenever the list changes.
pub fn fill_rows(hole: &Rc<Hole>, mut list: Box<dyn List>) {
    let hole = Rc::clone(hole);
    let owner = Owner::current().unwrap_or_default();
    // What stood there before belongs to an owner that is gone.
    let mut stale = true;
    effect(Box::new(move || {
        let rows = list.rows();
        leptos::prelude::untrack(|| set_rows(&hole, &owner, rows, stale));
        stale = false;
    }));
}

fn set_rows(hole: &Hole, owner: &Owner, rows: Vec<Row>, stale: bool) {
    let before = match hole.now.take() {
        Now::Rows(before) => before,
        Now::Blocks(blocks) => {
            remove(blocks);
            Vec::new()
        }
        Now::Plain(Markup::Text(was)) if !was.is_empty() => {
            hole.at.unchecked_ref::<CharacterData>().set_data("");
            Vec::new()
        }
        Now::New | Now::Plain(_) => Vec::new(),
    };
    let mut before: Vec<Option<Kept>> = before
        .into_iter()
        .filter_map(|kept| {
            if rows.iter().any(|row| row.key == kept.key) {
                return Some(Some(kept));
            }
            kept.owner.cleanup();
            remove(kept.blocks);
            None
        })
        .collect();
    let mut now = Vec::with_capacity(rows.len());
    for Row { key, view } in rows {
        let at = before.iter().position(|kept| kept.as_ref().is_some_and(|kept| kept.key == key));
        let in_place = at == before.iter().position(Option::is_some);
        let kept = at.and_then(|at| before.get_mut(at)).and_then(Option::take);
        // The first node of what is still to be set stands where this row belongs.
        let end = || {
            let next = before.iter().flatten().find_map(|kept| kept.blocks.first());
            next.map_or_else(|| hole.at.clone(), Block::first)
        };
        let kept = match kept {
            Some(kept) if !in_place => {
                move_before(&kept.blocks, &end());
                kept
            }
            Some(kept) => kept,
            None => Kept { key, owner: owner.with(Owner::new), blocks: Vec::new() },
        };
        let new = at.is_none();
        let kept = match stale || new {
            true => {
                let row = if new { kept.owner } else { owner.with(Owner::new) };
                let blocks = row.with(|| place(kept.blocks, view(), &end()));
                Kept { key, owner: row, blocks }
            }
            false => kept,
        };
        now.push(kept);
    }
    // Of two rows with one key, one is left when they become one.
    for kept in before.into_iter().flatten() {
        kept.owner.cleanup();
        remove(kept.blocks);
    }
    hole.now.replace(Now::Rows(now));
}

fn move_before(blocks: &[Block], end: &Node) {
    let mut nodes = Vec::new();
    blocks.iter().for_each(|block| block.nodes(&mut nodes));
    nodes.iter().for_each(|node| super::build::insert_before(end, node));
}
