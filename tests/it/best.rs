//! Best known finishes of the spread instances with one hoist, for judging plans.

/// Instance, finish in milliseconds, and whether a general constraint solver with a model of its own (the formulation is
/// that of `exact.rs`) has proven that there is no shorter one.
pub const BEST: [(&str, i64, bool); 24] = [
    ("14t-loose-16c-2r-2a-ax-1h-17", 20_493_171, false),
    ("14t-loose-6c-2r-1a-o-1h-8", 13_568_212, true),
    ("14t-medium-10c-3r-1a-a-1h-13", 24_402_980, true),
    ("14t-medium-16c-1r-2a-o-1h-105", 13_069_173, true),
    ("14t-medium-4c-3r-2a-o-1h-4", 7_693_963, true),
    ("14t-medium-6c-1r-2a-o-1h-102", 9_690_234, true),
    ("14t-tight-3c-1r-1a-o-1h-0", 8_577_500, true),
    ("14t-tight-8c-1r-2a-ax-1h-9", 10_898_162, true),
    ("24t-loose-3c-3r-4a-d-1h-2", 6_056_283, true),
    ("24t-loose-8c-3r-4a-a-1h-11", 8_914_450, false),
    ("24t-medium-16c-1r-2a-d-1h-16", 20_700_480, false),
    ("24t-medium-6c-1r-2a-ax-1h-7", 8_245_402, false),
    ("24t-tight-10c-1r-3a-o-1h-104", 15_716_891, false),
    ("24t-tight-10c-2r-3a-d-1h-12", 14_421_905, false),
    ("24t-tight-4c-1r-3a-o-1h-101", 7_958_623, true),
    ("24t-tight-4c-2r-3a-a-1h-3", 6_555_784, true),
    ("35t-loose-10c-1r-2a-d-1h-14", 11_346_105, false),
    ("35t-loose-4c-1r-2a-ax-1h-5", 5_704_632, true),
    ("35t-medium-3c-2r-3a-a-1h-1", 5_230_967, true),
    ("35t-medium-8c-2r-3a-d-1h-10", 10_696_306, false),
    ("35t-tight-16c-3r-4a-a-1h-15", 23_051_384, false),
    ("35t-tight-3c-1r-3a-o-1h-100", 5_844_490, true),
    ("35t-tight-6c-3r-4a-d-1h-6", 9_368_377, false),
    ("35t-tight-8c-1r-3a-o-1h-103", 11_972_754, false),
];
