//! The closed list of tasks: what a machine may be asked to do.

/// What is done: a closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Task {
    Strip,
    VerticalCut,
    Clean,
    Dig,
    Core,
    DeepTine,
    Slit,
    Spike,
    Level,
    Sand,
    Brush,
    Lute,
    Drill,
    Broadcast,
    Roll,
    Feed,
    Spray,
    Mow,
    Other,
}

impl Task {
    /// All tasks, in the order of the documents.
    pub const ALL: [Self; 19] = [
        Self::Strip,
        Self::VerticalCut,
        Self::Clean,
        Self::Dig,
        Self::Core,
        Self::DeepTine,
        Self::Slit,
        Self::Spike,
        Self::Level,
        Self::Sand,
        Self::Brush,
        Self::Lute,
        Self::Drill,
        Self::Broadcast,
        Self::Roll,
        Self::Feed,
        Self::Spray,
        Self::Mow,
        Self::Other,
    ];

    /// The word in the job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Strip => "strip",
            Self::VerticalCut => "vertical_cut",
            Self::Clean => "clean",
            Self::Dig => "dig",
            Self::Core => "core",
            Self::DeepTine => "deep_tine",
            Self::Slit => "slit",
            Self::Spike => "spike",
            Self::Level => "level",
            Self::Sand => "sand",
            Self::Brush => "brush",
            Self::Lute => "lute",
            Self::Drill => "drill",
            Self::Broadcast => "broadcast",
            Self::Roll => "roll",
            Self::Feed => "feed",
            Self::Spray => "spray",
            Self::Mow => "mow",
            Self::Other => "other",
        }
    }

    /// Whether the tool goes into the ground, so that it is up around heads, sockets and
    /// lids and has a depth.
    #[must_use]
    pub const fn cuts(self) -> bool {
        matches!(
            self,
            Self::Strip
                | Self::VerticalCut
                | Self::Dig
                | Self::Core
                | Self::DeepTine
                | Self::Slit
                | Self::Spike
                | Self::Drill
        )
    }
}
