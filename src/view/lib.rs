//! The two macros the page's views are written with. Both only write down what a view is made of; what is done with
//! it stands once, in `src/page/dom`.

mod component;
mod view;

use proc_macro::TokenStream;

/// HTML with Rust in it, as a `Markup`: a text that names the elements, and a value for each place left open in it.
#[proc_macro]
pub fn view(tokens: TokenStream) -> TokenStream {
    view::expand(tokens.into()).into()
}

/// Makes a function a component: `view!` writes it as an element and its arguments as attributes.
#[proc_macro_attribute]
pub fn component(_: TokenStream, tokens: TokenStream) -> TokenStream {
    let item = syn::parse_macro_input!(tokens as syn::ItemFn);
    component::expand(item).unwrap_or_else(syn::Error::into_compile_error).into()
}
