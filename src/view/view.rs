//! `view!`: a template and the values of its holes.
//!
//! A template is a text of one record a line, its first letter saying what the line is: `<` an HTML element, `(` an
//! SVG element, `>` the end of one, a space an attribute and its value, `'` text; and the holes, one value each in
//! the same order: `{` a child, `@` an attribute, `.` a class, `:` a property, `~` a style, `!` an event, `#` inner
//! HTML, `*` a reference. `dom/build.rs` in the page reads it.

use proc_macro2::{Span, TokenStream};
use quote::{quote, quote_spanned};
use rstml::node::{
    KeyedAttribute, KeyedAttributeValue, Node, NodeAttribute, NodeBlock, NodeElement, NodeName,
};
use syn::Expr;
use syn::spanned::Spanned;

/// Elements that only SVG has.
const SVG: [&str; 8] = ["svg", "g", "path", "line", "rect", "circle", "defs", "pattern"];

/// Expands `view!`.
pub fn expand(tokens: TokenStream) -> TokenStream {
    let parser = rstml::Parser::new(rstml::ParserConfig::default().recover_block(true));
    let (nodes, errors) = parser.parse_recoverable(tokens).split_vec();
    let errors = errors.into_iter().map(|error| error.emit_as_expr_tokens());
    let view = nodes_of(&nodes);
    quote! { { #(#errors;)* #view } }
}

/// What a part of the template is made of.
#[derive(Default)]
struct Template {
    text: String,
    holes: Vec<TokenStream>,
}

impl Template {
    fn line(&mut self, kind: char, text: &str) {
        // A line end within would begin a record.
        self.text.push(kind);
        self.text.push_str(&text.replace('\n', " "));
        self.text.push('\n');
    }

    fn hole(&mut self, kind: char, name: &str, value: TokenStream) {
        self.line(kind, name);
        self.holes.push(value);
    }
}

/// A `Markup` of these nodes.
fn nodes_of(nodes: &[Node]) -> TokenStream {
    match nodes {
        [] => return quote! { crate::dom::Markup::None },
        [Node::Block(block)] => return block_view(block),
        [Node::Element(element)] if is_component(element.name()) => return component(element),
        _ => (),
    }
    let mut template = Template::default();
    nodes.iter().for_each(|node| write(node, &mut template));
    let Template { text, holes } = template;
    quote! { crate::dom::Markup::template(#text, ::std::boxed::Box::new([#(#holes),*])) }
}

fn write(node: &Node, to: &mut Template) {
    match node {
        Node::Text(text) => to.line('\'', &text.value_string()),
        Node::RawText(text) => to.line('\'', &text.to_token_stream_string()),
        Node::Block(block) => to.hole('{', "", block_view(block)),
        Node::Fragment(fragment) => fragment.children.iter().for_each(|child| write(child, to)),
        Node::Element(element) if is_component(element.name()) => to.hole('{', "", component(element)),
        Node::Element(element) => html(element, to),
        Node::Comment(_) | Node::Doctype(_) | Node::Custom(_) => (),
    }
}

/// The `Markup` of what stands in braces, without the braces where they hold one expression.
fn block_view(block: &NodeBlock) -> TokenStream {
    let value = block.try_block().map_or_else(|| quote! { #block }, bare);
    quote! { crate::dom::IntoView::into_view(#value) }
}

fn bare(block: &syn::Block) -> TokenStream {
    match block.stmts.as_slice() {
        [syn::Stmt::Expr(expr, None)] => quote! { #expr },
        _ => quote! { #block },
    }
}

fn is_component(name: &NodeName) -> bool {
    match name {
        NodeName::Path(path) => path
            .path
            .segments
            .last()
            .is_some_and(|last| last.ident.to_string().starts_with(char::is_uppercase)),
        NodeName::Punctuated(_) | NodeName::Block(_) => false,
    }
}

fn html(element: &NodeElement<rstml::Infallible>, to: &mut Template) {
    let tag = element.name().to_string();
    to.line(if SVG.contains(&tag.as_str()) { '(' } else { '<' }, &tag);
    for attribute in element.attributes() {
        match attribute {
            NodeAttribute::Attribute(attribute) => write_attribute(attribute, to),
            NodeAttribute::Block(block) => {
                to.holes.push(quote_spanned! { block.span() => compile_error!("no spread attributes") });
            }
        }
    }
    element.children.iter().for_each(|child| write(child, to));
    to.line('>', "");
}

fn write_attribute(attribute: &KeyedAttribute, to: &mut Template) {
    let key = attribute.key.to_string();
    let Some(value) = attribute.value() else {
        to.line(' ', &format!("{key}="));
        return;
    };
    let value = match value {
        Expr::Block(block) => bare(&block.block),
        value => quote! { #value },
    };
    let (kind, name) = match key.split_once(':') {
        Some(("class", name)) => ('.', name),
        Some(("prop", name)) => (':', name),
        Some(("style", name)) => ('~', name),
        Some(("on", name)) => {
            let event = syn::Ident::new(name, Span::call_site());
            to.hole('!', name, quote! { crate::dom::event::#event(#value) });
            return;
        }
        _ => match key.as_str() {
            "inner_html" => ('#', ""),
            "node_ref" => ('*', ""),
            name => {
                match attribute.value_literal_string() {
                    Some(text) => to.line(' ', &format!("{name}={text}")),
                    None => to.hole('@', name, quote! { crate::dom::IntoView::into_view(#value) }),
                }
                return;
            }
        },
    };
    to.hole(kind, name, quote! { crate::dom::IntoView::into_view(#value) });
}

/// `<Entry field=…>…</Entry>`, and the two that the page itself knows: `For` and `Show`.
fn component(element: &NodeElement<rstml::Infallible>) -> TokenStream {
    let name = element.name();
    let mut argument = TokenStream::new();
    let mut given = Vec::new();
    for attribute in element.attributes() {
        let NodeAttribute::Attribute(attribute) = attribute else {
            given.push((
                syn::Ident::new("spread", Span::call_site()),
                quote_spanned! { attribute.span() => compile_error!("no spread attributes") },
            ));
            continue;
        };
        let key = attribute.key.to_string();
        if let Some(name) = key.strip_prefix("let:") {
            let name = syn::Ident::new(name, attribute.key.span());
            argument = quote! { #name };
            continue;
        }
        let key = syn::Ident::new(&key, attribute.key.span());
        let value = match &attribute.possible_value {
            KeyedAttributeValue::Value(_) => attribute.value().map_or_else(
                || quote_spanned! { attribute.span() => compile_error!("not an expression") },
                |value| quote! { #value },
            ),
            KeyedAttributeValue::Binding(_) | KeyedAttributeValue::None => quote! { #key },
        };
        given.push((key, value));
    }
    let children = (!element.children.is_empty())
        .then(|| nodes_of(&element.children))
        .map(|c| quote! { move |#argument| #c });
    let of = |wanted: &str| {
        given.iter().find(|(key, _)| key == wanted).map_or_else(
            || quote! { compile_error!(concat!("missing ", #wanted)) },
            |(_, value)| value.clone(),
        )
    };
    match name.to_string().as_str() {
        "For" => {
            let (each, key) = (of("each"), of("key"));
            quote! { crate::dom::each(#each, #key, #children) }
        }
        "Show" => {
            let when = of("when");
            quote! { crate::dom::show(#when, #children) }
        }
        _ => {
            let set = given.iter().map(|(key, value)| quote! { .#key(#value) });
            let children = children.map(|c| quote! { .children(#c) });
            quote! { #name::begin() #(#set)* #children .done() }
        }
    }
}
