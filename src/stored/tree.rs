//! A stored text taken apart into a tree, which is what values are read from and written to. JSON itself is read and
//! written by `serde_json`, but for one type only, this one: the code that serde derives for each of ours then need
//! not be made with all of JSON in it.

mod grow;
mod pick;

use serde::de::{MapAccess, SeqAccess, Visitor};
use serde::ser::{SerializeMap, SerializeSeq};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::borrow::Cow;
use std::fmt;

pub(crate) use grow::grow;

/// A value of JSON. Entries stay as they were written, in their order and doubled where they are.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Tree<'t> {
    Nothing,
    Truth(bool),
    /// A whole number from zero.
    Whole(u64),
    /// A whole number with a sign.
    Signed(i64),
    Number(f64),
    Text(Cow<'t, str>),
    List(Vec<Tree<'t>>),
    Entries(Vec<(Cow<'t, str>, Tree<'t>)>),
}

/// Why a tree is not the value that was expected, behind the way to it: `kit.container.capacity: …`, places in a list
/// counted from one.
#[derive(Debug)]
pub(crate) struct Fault(Box<Told>);

#[derive(Debug)]
struct Told {
    way: String,
    why: String,
}

impl Fault {
    /// One step up.
    #[cold]
    #[inline(never)]
    fn inside(mut self, step: &str) -> Self {
        let dot = if self.0.way.is_empty() { "" } else { "." };
        self.0.way = format!("{step}{dot}{}", self.0.way);
        self
    }

    #[cold]
    #[inline(never)]
    fn of(why: String) -> Self {
        Self(Box::new(Told { way: String::new(), why }))
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let colon = if self.0.way.is_empty() { "" } else { ": " };
        write!(f, "{}{colon}{}", self.0.way, self.0.why)
    }
}

impl std::error::Error for Fault {}

impl de::Error for Fault {
    fn custom<T: fmt::Display>(why: T) -> Self {
        Self::of(why.to_string())
    }
}

impl<'de> Deserialize<'de> for Tree<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Any;
        impl<'de> Visitor<'de> for Any {
            type Value = Tree<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value")
            }
            fn visit_unit<E>(self) -> Result<Self::Value, E> {
                Ok(Tree::Nothing)
            }
            fn visit_bool<E>(self, value: bool) -> Result<Self::Value, E> {
                Ok(Tree::Truth(value))
            }
            fn visit_u64<E>(self, value: u64) -> Result<Self::Value, E> {
                Ok(Tree::Whole(value))
            }
            fn visit_i64<E>(self, value: i64) -> Result<Self::Value, E> {
                Ok(Tree::Signed(value))
            }
            fn visit_f64<E>(self, value: f64) -> Result<Self::Value, E> {
                Ok(Tree::Number(value))
            }
            fn visit_str<E>(self, value: &str) -> Result<Self::Value, E> {
                Ok(Tree::Text(Cow::Owned(value.to_owned())))
            }
            fn visit_borrowed_str<E>(self, value: &'de str) -> Result<Self::Value, E> {
                Ok(Tree::Text(Cow::Borrowed(value)))
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Self::Value, A::Error> {
                let mut list = Vec::new();
                while let Some(item) = items.next_element()? {
                    list.push(item);
                }
                Ok(Tree::List(list))
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut entries = Vec::new();
                // Keys of JSON are texts.
                while let Some(Tree::Text(key)) = map.next_key()? {
                    entries.push((key, map.next_value()?));
                }
                Ok(Tree::Entries(entries))
            }
        }
        deserializer.deserialize_any(Any)
    }
}

impl Serialize for Tree<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Tree::Nothing => serializer.serialize_unit(),
            Tree::Truth(value) => serializer.serialize_bool(*value),
            Tree::Whole(value) => serializer.serialize_u64(*value),
            Tree::Signed(value) => serializer.serialize_i64(*value),
            Tree::Number(value) => serializer.serialize_f64(*value),
            Tree::Text(value) => serializer.serialize_str(value),
            Tree::List(list) => {
                let mut items = serializer.serialize_seq(Some(list.len()))?;
                list.iter().try_for_each(|item| items.serialize_element(item))?;
                items.end()
            }
            Tree::Entries(entries) => {
                let mut map = serializer.serialize_map(Some(entries.len()))?;
                entries.iter().try_for_each(|(key, value)| map.serialize_entry(key.as_ref(), value))?;
                map.end()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde::de::DeserializeOwned;
    use std::collections::BTreeMap;

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    enum Kind {
        #[serde(rename = "first")]
        First,
        Second(f64),
        Third(u8, Option<bool>),
        Fourth {
            left: i32,
            #[serde(default)]
            right: String,
        },
    }

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Whole {
        name: String,
        pair: (i64, u64),
        kinds: Vec<Kind>,
        by_number: BTreeMap<u8, f64>,
        by_sign: BTreeMap<char, Option<u16>>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        more: Option<Box<Whole>>,
    }

    fn from_tree<T: DeserializeOwned>(text: &str) -> Result<T, String> {
        let tree: Tree = serde_json::from_str(text).map_err(|e| e.to_string())?;
        T::deserialize(&tree).map_err(|e| e.to_string())
    }

    fn kind() -> impl Strategy<Value = Kind> {
        prop_oneof![
            Just(Kind::First),
            (-1e30..1e30).prop_map(Kind::Second),
            any::<(u8, Option<bool>)>().prop_map(|(a, b)| Kind::Third(a, b)),
            (any::<i32>(), ".{0,4}").prop_map(|(left, right)| Kind::Fourth { left, right }),
        ]
    }

    fn one() -> impl Strategy<Value = Whole> {
        let maps = (
            proptest::collection::btree_map(any::<u8>(), -1e9..1e9, 0..3),
            proptest::collection::btree_map(any::<char>(), any::<Option<u16>>(), 0..3),
        );
        let all = (".{0,5}", any::<(i64, u64)>(), proptest::collection::vec(kind(), 0..4), maps);
        all.prop_map(|(name, pair, kinds, (by_number, by_sign))| Whole {
            name,
            pair,
            kinds,
            by_number,
            by_sign,
            more: None,
        })
    }

    fn whole() -> impl Strategy<Value = Whole> {
        (one(), proptest::option::of(one()))
            .prop_map(|(outer, inner)| Whole { more: inner.map(Box::new), ..outer })
    }

    proptest! {
        #[test]
        fn what_is_written_is_what_the_library_would_write(value in whole()) {
            let tree = grow(&value).unwrap();
            let text = serde_json::to_string(&value).unwrap();
            prop_assert_eq!(serde_json::to_string(&tree).unwrap(), text.as_str());
            prop_assert_eq!(
                serde_json::to_string_pretty(&tree).unwrap(),
                serde_json::to_string_pretty(&value).unwrap()
            );
            prop_assert_eq!(from_tree::<Whole>(&text).unwrap(), value);
        }

        #[test]
        fn what_the_library_refuses_is_refused(value in whole(), at in any::<prop::sample::Index>(), with in "[0-9a-z{}\\[\\],:\". -]") {
            let text = serde_json::to_string(&value).unwrap();
            let places: Vec<usize> = text.char_indices().map(|(i, _)| i).collect();
            let place = places[at.index(places.len())];
            let after = place + text[place..].chars().next().unwrap().len_utf8();
            let spoilt = format!("{}{with}{}", &text[..place], &text[after..]);
            match (from_tree::<Whole>(&spoilt), serde_json::from_str::<Whole>(&spoilt)) {
                (Ok(ours), Ok(theirs)) => prop_assert_eq!(ours, theirs),
                (Err(_), Err(_)) => {}
                (ours, theirs) => prop_assert!(false, "{spoilt}: {ours:?}, {theirs:?}"),
            }
        }
    }

    #[test]
    fn refused_texts_tell_the_way_to_the_fault() {
        for (text, why) in [
            (r#"{"name":"a","name":"b"}"#, "duplicate field `name`"),
            (r#"{"nome":"a"}"#, "unknown field `nome`"),
            (r#"{"name":"a"}"#, "missing field `pair`"),
            (r#"{"name":5}"#, "name: invalid type: integer `5`"),
            (r#"{"pair":[1,2,3]}"#, "pair: invalid length 3"),
            (r#"{"pair":[1]}"#, "pair: invalid length 1"),
            (r#"{"pair":[1,-2]}"#, "pair.2: invalid value: integer `-2`"),
            (r#"{"kinds":["first","fifth"]}"#, "kinds.2: unknown variant `fifth`"),
            (r#"{"kinds":["Second"]}"#, "kinds.1: "),
            (r#"{"kinds":[{"first":1}]}"#, "kinds.1.first: "),
            (r#"{"kinds":[{"Fourth":{"left":1.5}}]}"#, "kinds.1.Fourth.left: invalid type: floating point"),
            (r#"{"kinds":[{"first":null,"Second":1}]}"#, "kinds.1: "),
            (r#"{"kinds":[{}]}"#, "kinds.1: "),
            (r#"{"by_number":{"256":1}}"#, "by_number: invalid value: integer `256`"),
            (r#"{"by_number":{"00":1}}"#, "by_number: "),
            (r#"{"by_number":{"+1":1}}"#, "by_number: "),
            (r#"{"by_number":{"x":1}}"#, "by_number: invalid type: string \"x\""),
            (r#"[]"#, "invalid type: sequence"),
            (r#"{"name":"#, "EOF while parsing a value at line 1 column 8"),
        ] {
            let said = from_tree::<Whole>(text).unwrap_err();
            assert!(said.starts_with(why), "{text}: {said}");
            assert!(serde_json::from_str::<Whole>(text).is_err(), "{text}");
        }
    }
}
