// Written by hardware/circuits/run: delays of the input stages, taken off at capture.

/// Crank input for variable reluctance: slope of the lead's voltage at its zero crossing (2 pi times amplitude
/// times teeth a second), V/s, and the delay of the pin's edge after it, ns. Between rows by a straight line.
pub const CRANK_RELUCTANCE: [(u32, u32); 12] = [
    (94, 1932),
    (314, 2739),
    (628, 2371),
    (2199, 3267),
    (4398, 3093),
    (8796, 3358),
    (21991, 3145),
    (62832, 3419),
    (251327, 3303),
    (753982, 2914),
    (2261947, 2447),
    (5654867, 1958),
];
/// Crank input for Hall and optical triggers: delay of the rising and of the falling edge at 5 V, ns.
pub const CRANK_HALL: [u32; 2] = [1792, 1408];
/// Spark clamp the right way round: the middle of its delays over all fronts, ns.
pub const SPARK: u32 = 173;
