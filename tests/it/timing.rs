//! Kinematics against worked figures, by the line's arithmetic and by the verifier's own.
//!
//! E20 to E24 and E26: elementary kinematics, s = 1/a1 + 1/a2; t = d/v + v s/2 from d = v^2 s/2 on, else sqrt(2 d s).

use crate::helpers::*;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::shift::alarm::latest_safe_start;
use dwellhand::units::*;
use dwellhand::verify::motion;

/// Both ways of reckoning agree with the figure within a millisecond.
fn travels(metres: f64, v: f64, a: f64, d: f64, seconds: f64) {
    let distance = Mm((metres * 1000.0) as i64);
    for (whose, got) in
        [("line", ramp_time(distance, v, a, d)), ("verifier", motion::ramp(distance, v, a, d))]
    {
        let off = (got.as_secs_f64() - seconds).abs();
        assert!(off <= 0.001, "{whose}: {metres} m at {v} m/s takes {got:?}, expected {seconds} s");
    }
}

/// E20: 12 m at 0.75 m/s and 0.30 m/s2, a trapezoid, takes 18.5 s.
#[test]
fn e20_long_travel_is_a_trapezoid() {
    travels(12.0, 0.75, 0.30, 0.30, 18.5);
}

/// E21: 1.2 m is a triangle and takes 4.0 s.
#[test]
fn e21_short_travel_is_a_triangle() {
    travels(1.2, 0.75, 0.30, 0.30, 4.0);
}

/// E22: 1.875 m is the boundary, 5.0 s by both branches; 0 m takes no time, 30 m 42.5 s.
#[test]
fn e22_both_branches_meet_at_the_boundary() {
    travels(1.875, 0.75, 0.30, 0.30, 5.0);
    travels(1.874, 0.75, 0.30, 0.30, 4.9987);
    travels(1.876, 0.75, 0.30, 0.30, 5.0013);
    travels(0.0, 0.75, 0.30, 0.30, 0.0);
    travels(30.0, 0.75, 0.30, 0.30, 42.5);
}

/// E23: braking harder than speeding up, 6 m takes 13.5 s and 0.3 m takes 1.8974 s.
#[test]
fn e23_speeding_up_and_braking_may_differ() {
    travels(6.0, 0.5, 0.25, 0.5, 13.5);
    travels(0.3, 0.5, 0.25, 0.5, 1.8974);
}

/// E24: lift 2.0 m at 0.15 m/s and 0.15 m/s2 takes 14.333 s; with drip 10 s, the travel of E21 and an equal lower the whole
/// move takes 42.667 s.
#[test]
fn e24_a_whole_loaded_move() {
    let mut line = row(&[(0, -1)], 1, &[5, 5]);
    line.tanks[TankId(1)].position = Mm(1200);
    line.hoists[H1] =
        Hoist { hook: Dur::ZERO, unhook: Dur::ZERO, settle: Dur::ZERO, ..kinematic_hoist("H1") };
    let (from, to, drip) = (TankId(0), TankId(1), s(10));
    let phases = line.phases(H1, from, to, drip, true, true).unwrap();
    assert_eq!(phases.raise, Dur(14_333));
    assert!((phases.total().0 - 42_667).abs() <= 1, "{phases:?}");
    let job = motion::Job { hoist: H1, from, to, drip, attach: true, release: true };
    let own = motion::loaded(&line, &job, t(100)).unwrap();
    assert_eq!(motion::stroke(&line, H1), (Dur(14_333), Dur(14_333)));
    assert!(((own.end - own.start).0 - 42_667).abs() <= 1, "{own:?}");
}

/// E26: arrival 11:40:00, longest dwell 30 min, empty travel 18.5 s, hook 6 s: the hoist sets out by 12:09:35.5 at the latest
/// (the dwell ends when the raise begins).
#[test]
fn e26_latest_safe_start() {
    let mut line = row(&[(0, 1800)], 1, &[5, 5]);
    line.tanks[TankId(1)].position = Mm(12_000);
    line.hoists[H1] = kinematic_hoist("H1");
    let history = opened(&line, book(1));
    let arrival = t(11 * 3600 + 40 * 60);
    let latest = latest_safe_start(&line, history.state(), TankId(1), arrival + s(1800)).unwrap();
    assert_eq!(latest, Time(((12 * 3600 + 9 * 60) * 1000) + 35_500));
}

/// The two reckonings agree to the millisecond everywhere, halves of a millisecond included.
#[test]
fn line_and_verifier_agree_to_the_millisecond() {
    for (v, a, d) in [(0.75, 0.30, 0.30), (0.5, 0.25, 0.5), (0.8, 0.4, 0.4), (0.9, 0.2, 0.7), (1.0, 1e6, 1e6)]
    {
        for mm in 0..4000 {
            let (line, own) = (ramp_time(Mm(mm), v, a, d), motion::ramp(Mm(mm), v, a, d));
            assert_eq!(line, own, "{mm} mm at {v} m/s, {a} and {d} m/s2");
        }
    }
}

/// Phases of the line and instants of the verifier agree for every pair of tanks, with and without hook and unhook.
#[test]
fn phases_and_instants_agree() {
    let mut kinematic = plant();
    kinematic.hoists[H1] = kinematic_hoist("H1");
    let table = row(&[(20, 25), (10, 60)], 1, &[5, 5, 5]);
    for line in [plant(), kinematic, table] {
        for (from, to) in line.tanks.ids().flat_map(|f| line.tanks.ids().map(move |t| (f, t))) {
            assert_eq!(line.empty_travel(H1, from, to), motion::empty(&line, H1, from, to));
            for (attach, release) in [(true, true), (false, true), (true, false), (false, false)] {
                let job = motion::Job { hoist: H1, from, to, drip: s(7), attach, release };
                let own = motion::loaded(&line, &job, t(50));
                let phases = line.phases(H1, from, to, s(7), attach, release);
                assert_eq!(own.is_some(), phases.is_some());
                let (Some(own), Some(p)) = (own, phases) else { continue };
                assert_eq!(own.lift, t(50) + p.to_lift());
                assert_eq!(own.clear, t(50) + p.to_clear());
                assert_eq!(own.lower - own.clear, p.air());
                assert_eq!(own.down, t(50) + p.to_down());
                assert_eq!(own.end, t(50) + p.total());
            }
        }
    }
}

/// The path of a move begins and ends at the right places and never jumps.
#[test]
fn a_path_has_no_jumps() {
    let mut line = plant();
    line.hoists[H1] = kinematic_hoist("H1");
    for (from, to) in [(0, 6), (6, 0), (1, 2), (3, 3)] {
        let job = motion::Job {
            hoist: H1,
            from: TankId(from),
            to: TankId(to),
            drip: s(10),
            attach: true,
            release: true,
        };
        let instants = motion::loaded(&line, &job, t(0)).unwrap();
        let path = motion::path(&line, &job, &instants);
        let at = |tank: u16| line.tanks[TankId(tank)].position.0 as f64;
        assert!((path[0].at(path[0].from) - at(from)).abs() < 1.0);
        let last = path[path.len() - 1];
        assert!((last.at(last.to) - at(to)).abs() < 1.0);
        for pair in path.windows(2) {
            assert!((pair[0].to - pair[1].from).abs() < 1.0, "{pair:?}");
            assert!((pair[0].at(pair[0].to) - pair[1].at(pair[1].from)).abs() < 1.0, "{pair:?}");
        }
    }
}
