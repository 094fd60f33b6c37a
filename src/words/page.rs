//! Words of the page that belong to no one section.

crate::phrases! {
    /// Words that many parts of the page share.
    Common {
        DidYouMean => "Did you mean",
        Less => "less",
        More => "more",
        HowWorkedOut => "How it is worked out",
        Seen => "Seen",
        WhoFirst => "A check keeps the name of who made it: enter it first.",
        AmenderFirst => "This case is signed. What is confirmed, corrected or entered now keeps the name of who amends: enter it first.",
        PrescriberName => "Prescriber’s name",
        ReasonGiven => "Reason given",
        NameAndReasonNeeded => "Name and reason are both needed; they print on the card.",
        NotTheTechnician => "Whoever prepares cannot decide this. Enter the prescriber who did.",
        GoOnAsDecided => "Go on, as decided",
        Undo => "Undo",
        Close => "Close",
        Cancel => "Leave it",
        Add => "Add",
        Remove => "Remove",
        Print => "Print",
        Range80 => "80 % range",
        Predicted => "predicted, not counted",
        Counted => "counted",
        Planned => "planned",
        Done => "done",
    }
}

crate::phrases! {
    /// The frame around every place.
    Frame {
        Skip => "Skip to the work",
        Places => "Places",
        Worksheet => "Worksheet",
        Records => "Records",
        Bench => "Bench",
        Stages => "Stages",
        Clocks => "Clocks",
        NoClock => "No clock running",
        ClocksClosed => "Clocks are closed too, until the page is opened",
        DemoCase => "Demo case",
        DraftSaved => "Draft saved",
        NotSaved => "Not saved",
        Case => "Case",
        CheckSign => "Check sign",
        Order => "Order",
        Answer => "Answer",
        AnswerShort => "Answer in short",
        Ledger => "Where every millilitre went",
    }
}
