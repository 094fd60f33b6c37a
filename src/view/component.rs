//! `#[component]`: a struct of the same name that gathers the arguments one by one, and the body as its last step.
//!
//! What must be given is a type parameter of that struct, `()` until it is: a view that leaves it out does not compile.

use proc_macro2::TokenStream;
use quote::{ToTokens, format_ident, quote};
use syn::punctuated::Punctuated;
use syn::spanned::Spanned;
use syn::{
    Attribute, Expr, FnArg, GenericParam, Ident, ItemFn, Meta, Pat, ReturnType, Token, Type, TypeParam,
};

/// One argument.
struct Prop {
    name: Ident,
    pattern: TokenStream,
    docs: Vec<Attribute>,
    /// What it is kept as.
    kind: Type,
    /// What it is when it is left out.
    default: Option<Expr>,
    /// Given without the `Some` it is kept in.
    within: Option<Type>,
    /// Anything that turns into it.
    into: bool,
}

/// Expands `#[component]`.
pub fn expand(item: ItemFn) -> syn::Result<TokenStream> {
    let ItemFn { attrs, vis, sig, block, .. } = item;
    let name = &sig.ident;
    let mut generics = sig.generics.clone();
    let mut props = Vec::new();
    for argument in &sig.inputs {
        let FnArg::Typed(argument) = argument else {
            return Err(syn::Error::new(argument.span(), "a component has no self"));
        };
        let mut kind = (*argument.ty).clone();
        if let Type::ImplTrait(bounds) = &kind {
            let parameter = format_ident!("Given{}", props.len());
            let bounds = &bounds.bounds;
            let parameter: TypeParam = syn::parse_quote! { #parameter: #bounds };
            let ident = &parameter.ident;
            kind = syn::parse_quote! { #ident };
            generics.params.push(GenericParam::Type(parameter));
        }
        props.push(prop(&argument.attrs, &argument.pat, kind)?);
    }

    // The type parameters as they are named, and those that stand for what must be given.
    let own: Vec<Ident> = generics
        .params
        .iter()
        .filter_map(|p| match p {
            GenericParam::Type(p) => Some(p.ident.clone()),
            _ => None,
        })
        .collect();
    let declared: Vec<_> = generics.params.iter().collect();
    let bounds = &generics.where_clause;
    let must: Vec<&Prop> = props.iter().filter(|p| p.default.is_none()).collect();
    let open: Vec<Ident> = must.iter().map(|p| format_ident!("Has_{}", p.name)).collect();
    let nothing: Vec<TokenStream> = must.iter().map(|_| quote! { () }).collect();
    let given: Vec<TokenStream> = must.iter().map(|p| p.kind.to_token_stream()).collect();

    let state = |p: &Prop| must.iter().position(|m| m.name == p.name);
    let fields = props.iter().map(|p| {
        let (field, kind) = (&p.name, &p.kind);
        match state(p).and_then(|at| open.get(at)) {
            Some(open) => quote! { #field: #open },
            None => quote! { #field: #kind },
        }
    });
    let begins = props.iter().map(|p| {
        let (field, default) = (&p.name, &p.default);
        match default {
            Some(default) => quote! { #field: #default },
            None => quote! { #field: () },
        }
    });
    let names: Vec<&Ident> = props.iter().map(|p| &p.name).collect();
    let setters = props.iter().map(|p| {
        let (field, docs) = (&p.name, &p.docs);
        let (takes, value) = p.takes();
        let at = state(p);
        let result: Vec<TokenStream> = open
            .iter()
            .enumerate()
            .map(|(i, open)| {
                if Some(i) == at {
                    p.kind.to_token_stream()
                } else {
                    quote! { #open }
                }
            })
            .collect();
        let others = names.iter().filter(|name| **name != field);
        quote! {
            #(#docs)*
            #[inline(always)]
            pub fn #field(self, value: #takes) -> #name<#(#own,)* #(#result,)*> {
                #name { #field: #value, #(#others: self.#others,)* phantom: self.phantom }
            }
        }
    });
    let patterns = props.iter().map(|p| &p.pattern);
    let body = match &sig.output {
        ReturnType::Type(_, kind) if !matches!(**kind, Type::ImplTrait(_)) => {
            quote! { (move || -> #kind #block)() }
        }
        _ => quote! { (move || #block)() },
    };
    Ok(quote! {
        #(#attrs)*
        #[allow(non_camel_case_types, clippy::type_complexity)]
        #vis struct #name<#(#own,)* #(#open,)*> {
            #(#fields,)*
            phantom: ::std::marker::PhantomData<fn() -> (#(#own,)*)>,
        }

        #[allow(non_camel_case_types)]
        impl<#(#declared,)*> #name<#(#own,)* #(#nothing,)*> #bounds {
            /// Nothing given yet.
            #[inline(always)]
            pub fn begin() -> Self {
                #name { #(#begins,)* phantom: ::std::marker::PhantomData }
            }
        }

        #[allow(non_camel_case_types, dead_code, clippy::all)]
        impl<#(#declared,)* #(#open,)*> #name<#(#own,)* #(#open,)*> #bounds {
            #(#setters)*
        }

        impl<#(#declared,)*> #name<#(#own,)* #(#given,)*> #bounds {
            /// The view of it.
            #[allow(clippy::redundant_closure_call)]
            pub fn done(self) -> crate::dom::Markup {
                let #name { #(#patterns,)* phantom: _ } = self;
                crate::dom::component(move || #body)
            }
        }
    })
}

/// Reads one argument and its `#[prop(…)]`.
fn prop(attributes: &[Attribute], pattern: &Pat, kind: Type) -> syn::Result<Prop> {
    let Pat::Ident(ident) = pattern else {
        return Err(syn::Error::new(pattern.span(), "an argument of a component is a name"));
    };
    let (mut default, mut within, mut into) = (None, None, false);
    for attribute in attributes.iter().filter(|a| a.path().is_ident("prop")) {
        for meta in attribute.parse_args_with(Punctuated::<Meta, Token![,]>::parse_terminated)? {
            match meta {
                Meta::Path(path) if path.is_ident("into") => into = true,
                Meta::Path(path) if path.is_ident("optional") => {
                    default = Some(syn::parse_quote! { ::std::default::Default::default() });
                    within = inner(&kind, "Option");
                }
                Meta::NameValue(pair) if pair.path.is_ident("default") => default = Some(pair.value),
                other => return Err(syn::Error::new(other.span(), "into, optional or default = …")),
            }
        }
    }
    let docs = attributes.iter().filter(|a| a.path().is_ident("doc")).cloned().collect();
    Ok(Prop {
        name: ident.ident.clone(),
        pattern: pattern.to_token_stream(),
        docs,
        kind,
        default,
        within,
        into,
    })
}

/// What stands in the angle brackets of a type of this name.
fn inner(kind: &Type, name: &str) -> Option<Type> {
    let Type::Path(path) = kind else { return None };
    let last = path.path.segments.last().filter(|s| s.ident == name)?;
    let syn::PathArguments::AngleBracketed(arguments) = &last.arguments else { return None };
    arguments.args.iter().find_map(|a| match a {
        syn::GenericArgument::Type(kind) => Some(kind.clone()),
        _ => None,
    })
}

impl Prop {
    /// What its setter takes, and what it makes of that.
    fn takes(&self) -> (TokenStream, TokenStream) {
        let text = self.kind.to_token_stream().to_string();
        match text.as_str() {
            "Children" => {
                return (
                    quote! { impl FnOnce() -> crate::dom::Markup + 'static },
                    quote! { ::std::boxed::Box::new(value) },
                );
            }
            "ChildrenFn" => {
                return (
                    quote! { impl Fn() -> crate::dom::Markup + 'static },
                    quote! { ::std::rc::Rc::new(value) },
                );
            }
            _ => (),
        }
        let kind = self.within.as_ref().unwrap_or(&self.kind);
        let (takes, value) = match self.into {
            true => (
                quote! { impl ::std::convert::Into<#kind> },
                quote! { ::std::convert::Into::<#kind>::into(value) },
            ),
            false => (quote! { #kind }, quote! { value }),
        };
        match self.within {
            Some(_) => (takes, quote! { ::std::option::Option::Some(#value) }),
            None => (takes, value),
        }
    }
}
