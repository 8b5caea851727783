//! A recording fed to the handheld: it shows what `keyway read` reads, waits where it must, takes the edge
//! stream of a port the same way, and says openly what was lost on the way.

use keyway::capture::{self, Event, Format, Names};
use keyway::guide_play;
use keyway::replay::{AtOnce, Hand, Input, Line, Pace, Player, Reader, line};
use keyway_core::edges::{Channel, Level};
use keyway_core::view::{Halt, Screen, StepId, Value};
use keyway_tests::running::{Scratch, keyway};
use std::fmt::Write;
use std::time::Instant;

const DUMP: &[u8] = include_bytes!("../simulator/demo/pump-six.vcd");
const JOB: &str = include_str!("../simulator/demo/pump-six.job.toml");

/// The demonstration's events, ticks of 0.1 µs since its first time.
fn events() -> Vec<(u64, Input)> {
    let mut events = Vec::new();
    let read = capture::read(DUMP, Format::Vcd, &Names::default(), |at, event| {
        events.push((
            at,
            match event {
                Event::Edge(channel, level) => Input::Edge(channel, level),
                Event::Supply(volts) => Input::Supply(volts),
            },
        ));
    });
    assert!(read.is_ok());
    events
}

fn player<P: Pace>(pace: P) -> Player<P> {
    let job = keyway::job_file::read::job(JOB).unwrap_or_else(|error| panic!("{error:?}"));
    Player::new(job.spec(), Hand::hasty(), pace)
}

/// The same events as lines of a port whose clock has 4 MHz.
fn as_lines(events: &[(u64, Input)]) -> Vec<String> {
    as_lines_of(events, 200)
}

/// The same with so many events in a line.
fn as_lines_of(events: &[(u64, Input)], in_a_line: usize) -> Vec<String> {
    let mut lines = vec!["{\"stream\":{\"on\":true,\"ticks_per_second\":4000000}}".to_owned()];
    let (mut levels, mut start, mut volts) = ([0u8; 2], 1_000_000u64, None);
    for (number, part) in events.chunks(in_a_line).enumerate() {
        let (mut at, mut deltas, before) = (start, String::new(), levels);
        for (ticks, input) in part {
            match input {
                Input::Supply(now) => volts = Some(*now),
                Input::Lost(..) => {}
                Input::Edge(channel, level) => {
                    let then = (1_000_000 + ticks * 2 / 5).max(at);
                    let (place, high) = (usize::from(*channel == Channel::Spark), *level == Level::High);
                    levels[place] = u8::from(high);
                    let comma = if deltas.is_empty() { "" } else { "," };
                    let _ = write!(deltas, "{comma}{}", (then - at) * 4 + 2 * place as u64 + u64::from(high));
                    at = then;
                }
            }
        }
        let volts = volts.map_or("null".to_owned(), |volts| volts.to_string());
        lines.push(format!(
            "{{\"edges\":{{\"batch\":{number},\"start\":{start},\"levels\":[{},{}],\"lost\":[0,0],\
             \"battery_v\":{volts},\"d\":[{deltas}],\"end\":{at}}}}}",
            before[0], before[1]
        ));
        start = at;
    }
    lines
}

#[test]
fn the_handheld_shows_the_number_that_the_capture_holds() {
    let mut player = player(AtOnce);
    for (at, input) in events() {
        player.input(at, input);
    }
    let Screen::Reading(reading) = player.view().screen else { panic!("{:?}", player.view()) };
    assert_eq!(reading.step, StepId::Read);
    let Value::Shown { advance, doubt, .. } = reading.value else { panic!("{reading:?}") };
    // What `keyway read` says of this capture: 9.90° ATDC (README).
    assert!((advance + 9.9).abs() <= 0.15 && doubt < 0.5, "{advance} ± {doubt}");
    assert!(player.view().halt.is_none() || matches!(player.view().halt, Some(Halt::OtherCause(_))));
}

#[test]
fn base_mode_is_told_only_where_the_job_says_that_it_was_held() {
    for (job, told) in [(JOB.to_owned(), true), (JOB.replace("base_mode = true", "base_mode = false"), false)]
    {
        let job = keyway::job_file::read::job(&job).unwrap_or_else(|error| panic!("{error:?}"));
        let mut player = Player::new(job.spec(), Hand::hasty(), AtOnce);
        for (at, input) in events() {
            player.input(at, input);
        }
        let lines = player.take_lines();
        assert_eq!(lines.iter().any(|(_, line)| line.contains("step told")), told, "{lines:#?}");
        let read = StepId::Read;
        assert_eq!(player.view().bar.step.map(|place| place.id), Some(read));
    }
}

#[test]
fn the_edge_stream_of_a_port_shows_the_same_as_the_capture() {
    let events = events();
    let (mut one, mut other) = (player(AtOnce), player(AtOnce));
    for (at, input) in &events {
        one.input(*at, *input);
    }
    let mut reader = Reader::default();
    for text in as_lines(&events) {
        let taken = reader.take(&text, |at, input| {
            assert!(!matches!(input, Input::Lost(..)), "nothing is lost");
            other.input(at, input);
        });
        assert!(taken.is_ok(), "{taken:?} of {text}");
    }
    let shown = |player: &Player<AtOnce>| match player.view().screen {
        Screen::Reading(reading) => match reading.value {
            Value::Shown { advance, .. } => advance,
            other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    };
    assert!((shown(&one) - shown(&other)).abs() < 0.05, "{} {}", shown(&one), shown(&other));
}

#[test]
fn a_dropped_edge_a_missing_batch_and_a_level_that_changed_unseen_are_told_as_lost() {
    let batch = |number: u64, levels: &str, lost: &str| {
        format!(
            "{{\"edges\":{{\"batch\":{number},\"start\":{},\"levels\":{levels},\"lost\":{lost},\"battery_v\":null,\
             \"d\":[],\"end\":{}}}}}",
            number * 1000,
            number * 1000 + 1000
        )
    };
    let mut reader = Reader::default();
    let mut told = |text: &str| {
        let mut inputs = Vec::new();
        reader.take(text, |_, input| inputs.push(input)).map(|_| inputs)
    };
    assert!(told(&batch(0, "[0,0]", "[0,0]")).is_err(), "the clock's rate is not known yet");
    assert_eq!(told("{\"hello\":{\"protocol\":1,\"ticks_per_second\":4000000}}"), Ok(vec![]));
    assert_eq!(told(&batch(0, "[0,0]", "[0,0]")), Ok(vec![]));
    assert_eq!(told(&batch(1, "[0,0]", "[3,0]")), Ok(vec![Input::Lost(Channel::Crank, 3)]));
    assert_eq!(told(&batch(2, "[0,1]", "[0,0]")), Ok(vec![Input::Lost(Channel::Spark, 1)]));
    let both = vec![Input::Lost(Channel::Crank, 1), Input::Lost(Channel::Spark, 1)];
    assert_eq!(told(&batch(4, "[0,1]", "[0,0]")), Ok(both));
    assert_eq!(told("{\"later\":{\"what\":1}}"), Ok(vec![]), "an unknown name is skipped");
}

/// A terminal stands for the handheld's port: it is asked once, hears nothing of its own lines back, and long lines
/// come whole.
#[cfg(unix)]
#[test]
fn a_port_that_is_a_terminal_is_asked_to_stream_and_read_as_it_comes() {
    use rustix::io::ioctl_fionread;
    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    use std::io::{Read, Write as _};

    let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY;
    let handheld = openpt(flags).unwrap_or_else(|error| panic!("no terminal: {error}"));
    assert!(grantpt(&handheld).is_ok() && unlockpt(&handheld).is_ok());
    let port = ptsname(&handheld, Vec::new()).unwrap_or_else(|error| panic!("{error}"));
    let port = port.to_string_lossy().into_owned();
    // Batches longer than the 4095 bytes that a terminal's own line holds.
    let lines = as_lines_of(&events(), 1200);
    assert!(lines.iter().any(|line| line.len() > 4096));
    let scratch = Scratch::new();
    let job = scratch.file("j.job.toml", JOB);
    let from_file = scratch.file("port.jsonl", lines.join("\n"));
    let device = std::thread::spawn(move || {
        let mut handheld = std::fs::File::from(handheld);
        let mut asked = Vec::new();
        let mut byte = [0];
        while asked.last() != Some(&b'\n') && matches!(handheld.read(&mut byte), Ok(1)) {
            asked.push(byte[0]);
        }
        for line in &lines {
            let _ = handheld.write_all(line.as_bytes()).and_then(|()| handheld.write_all(b"\n"));
        }
        // The reader is given time to empty the line; then the plug is pulled. What came back by then is an echo.
        std::thread::sleep(std::time::Duration::from_millis(1500));
        let echo = ioctl_fionread(&handheld).unwrap_or(u64::MAX);
        (String::from_utf8_lossy(&asked).into_owned(), echo)
    });
    let answer = keyway(&["replay", "--port", &port, "--job", &job, "--no-window"]);
    let (asked, echo) = device.join().unwrap_or_else(|_| panic!("the device's side failed"));
    assert_eq!(asked, "{\"stream\":{\"on\":true}}\n");
    assert_eq!(echo, 0, "the port sent the handheld's lines back");
    let same = keyway(&["replay", "--port", &from_file, "--job", &job, "--no-window", "--speed", "0"]);
    assert_eq!((answer.status, answer.out), (0, same.out.replace("port.jsonl", &port)));
}

#[test]
fn the_example_of_the_port_s_document_reads_as_the_document_says() {
    let example = "{\"edges\":{\"batch\":0,\"start\":8123400,\"levels\":[0,0],\"lost\":[0,0],\"battery_v\":13.9,\
                   \"d\":[25,2299,14,1800],\"end\":8124600}}";
    assert!(matches!(line(example), Ok(Line::Edges(_))));
    let mut reader = Reader::default();
    let mut inputs = Vec::new();
    let rate = reader.take("{\"stream\":{\"on\":true,\"ticks_per_second\":10000000}}", |_, _| {});
    assert_eq!(rate, Ok(None));
    let reached = reader.take(example, |at, input| inputs.push((at, input)));
    assert_eq!(reached, Ok(Some(1200)));
    // 6 ticks after start the crank rises, 574 later the spark, 3 later it falls, 450 later the crank.
    let expected = [
        (6, Input::Edge(Channel::Crank, Level::High)),
        (580, Input::Edge(Channel::Spark, Level::High)),
        (583, Input::Edge(Channel::Spark, Level::Low)),
        (1033, Input::Edge(Channel::Crank, Level::Low)),
        (1200, Input::Supply(13.9)),
    ];
    assert_eq!(inputs, expected);
}

#[test]
fn a_line_that_cannot_be_changes_nothing_and_is_told() {
    for text in [
        "{",
        "[]",
        "{\"edges\":{}}",
        "{\"edges\":{\"batch\":0,\"start\":9,\"levels\":[0,0],\"lost\":[0,0],\"battery_v\":null,\"d\":[400],\"end\":10}}",
        "{\"stream\":{\"on\":true,\"ticks_per_second\":0}}",
        "{\"a\":1,\"b\":2}",
        "{\"edges\":{\"batch\":-1,\"start\":0,\"levels\":[0,0],\"lost\":[0,0],\"battery_v\":null,\"d\":[],\"end\":1}}",
    ] {
        assert!(line(text).is_err(), "{text}");
    }
    let scratch = Scratch::new();
    let mut lines = as_lines(&events());
    lines.insert(40, "{\"edges\":{\"batch\":".to_owned());
    let (port, job) = (scratch.file("port.jsonl", lines.join("\n")), scratch.file("j.job.toml", JOB));
    let answer = keyway(&["replay", "--port", &port, "--job", &job, "--no-window", "--speed", "0"]);
    assert_eq!(answer.status, 0, "{answer:?}");
    assert!(answer.out.contains("port.jsonl:41: left out, expected one JSON object"), "{}", answer.out);
    assert!(answer.out.contains("ATDC") && answer.out.contains("the recording ends"), "{}", answer.out);
}

#[test]
fn the_command_replays_at_the_speed_asked_for_and_refuses_in_one_line() {
    let scratch = Scratch::new();
    let (dump, job) = (scratch.file("c.vcd", DUMP), scratch.file("j.job.toml", JOB));
    let since = Instant::now();
    let answer = keyway(&["replay", &dump, "--job", &job, "--no-window", "--speed", "10"]);
    let took = since.elapsed().as_secs_f64();
    assert_eq!(answer.status, 0, "{answer:?}");
    assert!(took >= 1.05, "11 s of capture at ten times real time: {took} s");
    assert!(answer.out.contains("Read what is there"), "{}", answer.out);
    let keys = scratch.file("k.keys", "press Next\nwait 1\nbolt loose\n");
    for (arguments, words) in [
        (vec!["replay", "--job", &job, "--no-window"], "expected a capture or --port"),
        (vec!["replay", &dump, "--port", "p", "--job", &job, "--no-window"], "expected a capture or --port"),
        (vec!["replay", "no.vcd", "--job", &job, "--no-window"], "no.vcd"),
        (vec!["replay", &dump, "--job", "no.toml", "--no-window"], "no.toml"),
        (vec!["replay", "--port", "no.port", "--job", &job, "--no-window"], "no.port: cannot be read"),
        (vec!["replay", &dump, "--job", &job, "--no-window", "--keys", &keys], "act 3: expected press, hold"),
    ] {
        assert!(keyway(&arguments).refusal().contains(words), "{words}");
    }
}

#[test]
fn a_script_of_keys_works_the_handheld_at_the_capture_s_time() {
    let acts =
        guide_play::parse("press Next\nwait 2\nchoose Choose an engine\npress Select\n").unwrap_or_default();
    let hand = Hand::scripted(acts).unwrap_or_else(|act| panic!("act {act}"));
    let job = keyway::job_file::read::job(JOB).unwrap_or_else(|error| panic!("{error:?}"));
    let mut player = Player::new(job.spec(), hand, AtOnce);
    player.pass_to(60_000_000);
    let Screen::Menu(menu) = player.view().screen else { panic!("{:?}", player.view().screen) };
    assert_eq!(menu.engine.as_str(), "Weir pump six");
}
