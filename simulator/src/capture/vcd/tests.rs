//! What a dump may look like, and what is refused.

use super::*;

const HEAD: &str = "$timescale 1 us $end $scope module eng $end $var wire 1 ! crank $end \
                    $var wire 1 \" spark1 $end $upscope $end $enddefinitions $end\n";

type Seen = Vec<(u64, Event)>;

fn with(text: &[u8], names: &Names) -> Result<(Outline, Seen), CaptureError> {
    let mut seen = Vec::new();
    let outline = read(text, names, |ticks, event| seen.push((ticks, event)))?;
    Ok((outline, seen))
}

fn body(text: &str) -> Result<(Outline, Seen), CaptureError> {
    with(format!("{HEAD}{text}").as_bytes(), &Names::default())
}

fn crank(ticks: u64, level: Level) -> (u64, Event) {
    (ticks, Event::Edge(Channel::Crank, level))
}

#[test]
fn times_start_at_the_first_one_and_equal_times_keep_their_order() {
    let (outline, seen) = body("#500\n0! 0\"\n#510 1\" 1!\n#510 0!\n").unwrap();
    let expected =
        [(100, Event::Edge(Channel::Spark, Level::High)), crank(100, Level::High), crank(100, Level::Low)];
    assert_eq!(seen, expected);
    assert_eq!((outline.first_seconds, outline.ticks, outline.truncated), (0.0005, 100, false));
}

#[test]
fn a_change_from_an_unknown_level_is_no_edge() {
    let (_, seen) = body("#0 x! #1 1! #2 z! #3 0! #4 X! #5 1! #6 0! ").unwrap();
    assert_eq!(seen, [crank(60, Level::Low)]);
}

#[test]
fn values_before_the_first_time_are_where_the_signals_start() {
    let (_, seen) = body("$dumpvars 0! 0\" $end #7 1! #8 1! ").unwrap();
    assert_eq!(seen, [crank(0, Level::High)]);
}

#[test]
fn while_the_dump_is_off_no_level_is_known() {
    let (_, seen) =
        body("#0 0! #1 $dumpoff x! x\" $end #5 $dumpon 1! 0\" $end #6 0! #7 $dumpall 1! 0\" $end ").unwrap();
    assert_eq!(seen, [crank(60, Level::Low), crank(70, Level::High)]);
    let (_, seen) = body("#0 0! #1 $dumpoff $end #5 $dumpon 1! $end #6 0! ").unwrap();
    assert_eq!(seen, [crank(60, Level::Low)]);
}

#[test]
fn other_signals_comments_and_commands_are_passed_over() {
    let head = "$date\n today\n$end $version x $end $comment #5 1! $end $timescale\n10ns\n$end\n\
        $scope interface i $end $var logic 1 ! crank $end $var reg 8 a bus [7:0] $end $upscope $end\n\
        $var wire 1 ! copy [0] $end $var event 1 e tick $end $var string 1 s words $end\n\
        $var real 64 r heat $end $var bit 1 % spark1[0:0] $end $attrbegin misc $end\n\
        $enddefinitions $end\n";
    let text = format!(
        "{head}# 0 0 ! b0 % b1x0z a r1e3 r sidle s 1e\n$comment 1! $end $vcdclose #9 $end\n#10 b1 !\n"
    );
    let (outline, seen) = with(text.as_bytes(), &Names::default()).unwrap();
    assert_eq!((seen, outline.ticks), (vec![crank(1, Level::High)], 1));
}

#[test]
fn a_signal_may_be_named_by_its_path_and_a_name_in_two_scopes_needs_it() {
    let head = "$timescale 1us $end $scope module a $end $var wire 1 ! crank $end $upscope $end \
        $scope module b $end $var wire 1 # crank $end $var wire 1 % spark1 $end $upscope $end \
        $enddefinitions $end #0 0! 0# #1 1! #2 1# ";
    let error = with(head.as_bytes(), &Names::default()).unwrap_err();
    assert!(error.found.contains("\"a.crank\" and \"b.crank\""), "{error}");
    for (name, ticks) in [("a.crank", 10), ("b.crank", 20)] {
        let names = Names { crank: name.into(), ..Names::default() };
        assert_eq!(with(head.as_bytes(), &names).unwrap().1, [crank(ticks, Level::High)]);
    }
    let wide = head.replace("wire 1 # crank", "wire 4 # crank");
    assert_eq!(with(wide.as_bytes(), &Names::default()).unwrap().1, [crank(10, Level::High)]);
}

#[test]
fn a_file_that_ends_inside_something_is_read_up_to_there_and_marked() {
    for (text, truncated, edges, ticks) in [
        ("#0 0! #10 1! #20 0!\n", false, 2, 200),
        ("#0 0! #10 1! #20 0!", false, 2, 200),
        ("#0 0! #10 1! #20\n", false, 1, 200),
        ("#0 0! #10 1! #2", true, 1, 100),
        ("#0 0! #10 1! #20 0", true, 1, 200),
        ("#0 0! #10 1! #20 b0 ", true, 1, 200),
        ("#0 0! #10 1! #", true, 1, 100),
        ("#0 0! #10 1! #20 $comm", true, 1, 200),
        ("#0 0! #10 1! #20 $comment 0! ", true, 1, 200),
        ("#0 0! #10 1! #20 $dumpall 0! ", true, 2, 200),
        ("#0 0! #10 1! #20 $dumpall 0! $end", false, 2, 200),
    ] {
        let (outline, seen) = body(text).unwrap();
        assert_eq!((outline.truncated, seen.len(), outline.ticks), (truncated, edges, ticks), "{text}");
    }
    let head = HEAD.split("$upscope").next().unwrap();
    assert!(with(head.as_bytes(), &Names::default()).unwrap().0.truncated);
}

#[test]
fn a_name_with_a_backslash_is_the_name_behind_it() {
    let head =
        "$timescale 1 us $end $var wire 1 ! \\crank $end $var wire 1 % \\spark1 $end $enddefinitions $end\n";
    let (_, seen) = with(format!("{head}#0 0! 0%\n#1 1!\n").as_bytes(), &Names::default()).unwrap();
    assert_eq!(seen, [crank(10, Level::High)]);
}

#[test]
fn one_name_for_both_pickups_is_refused() {
    let names = Names { crank: "lead".into(), spark: "lead".into(), battery: None };
    let error = super::super::read(b"".as_slice(), super::super::Format::Vcd, &names, |_, _| {}).unwrap_err();
    assert!(error.found.contains("\"lead\" for crank and spark"), "{error}");
}

#[test]
fn the_supply_is_read_where_it_is_recorded() {
    let text = "$timescale 1 ms $end $var wire 1 ! crank $end $var wire 1 % spark1 $end \
        $var real 64 v battery_v $end $enddefinitions $end #1 r12.5 v #3 r13 v ";
    let (_, seen) = with(text.as_bytes(), &Names::default()).unwrap();
    assert_eq!(seen, [(0, Event::Supply(12.5)), (20_000, Event::Supply(13.0))]);
    for (value, expected) in
        [("rnan v", "finite"), ("rinf v", "finite"), ("r1e99 v", "finite"), ("1v", "real")]
    {
        let error = with(text.replace("r13 v", value).as_bytes(), &Names::default()).unwrap_err();
        assert!(error.expected.contains(expected), "{value}: {error}");
    }
    let names = Names { battery: Some("volts".into()), ..Names::default() };
    assert!(with(text.as_bytes(), &names).unwrap_err().found.contains("volts"));
}

#[test]
fn what_cannot_be_is_refused_with_its_line() {
    for (text, line, found) in [
        ("#10 0!\n#9 1!\n", 3, "earlier"),
        ("#10 0!\n#99999999999999999999 1!\n", 3, "99999"),
        ("#0 0!\n#18446744073709551615 1!\n", 3, "18446744073709551615"),
        ("#0\n1?\n", 3, "code"),
        ("#0\nhello\n", 3, "hello"),
        ("#-4 0!\n", 2, "#-4"),
        ("#1.5 0!\n", 2, "#1.5"),
        ("#0 r1.5 !\n", 2, "real"),
        ("#0 $end\n", 2, "$end"),
        ("\0\0\0", 2, "\\u{0}"),
    ] {
        let error = body(text).unwrap_err();
        assert_eq!(error.line, Some(line), "{text}: {error}");
        assert!(error.found.contains(found), "{text}: {error}");
    }
    for (text, found) in [
        ("", "empty"),
        ("hello", "hello"),
        ("\u{7f}ELF\u{1}\u{2}", "ELF"),
        ("$timescale 7 ns $end $enddefinitions $end", "7 ns"),
        ("$timescale 1 h $end $enddefinitions $end", "1 h"),
        ("$timescale 1 ns $end $timescale 1 us $end $enddefinitions $end", "second $timescale"),
        ("$enddefinitions $end", "end of the declarations"),
        ("$timescale 1 ns $end $enddefinitions $end", "crank"),
        ("$timescale 1 ns $end $var wire 8 ! crank $end $enddefinitions $end", "8 bits"),
        ("$timescale 1 ns $end $var wire one ! crank $end $enddefinitions $end", "$var"),
        ("$timescale 1 ns $end $var wire 1 ! $end $enddefinitions $end", "$var"),
    ] {
        let error = with(text.as_bytes(), &Names::default()).unwrap_err();
        assert!(error.found.contains(found), "{text}: {error}");
    }
}
