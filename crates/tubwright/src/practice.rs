//! `tubwright practice`: a simulated tub to dose, typed, piped or scripted; then what a good plan would have done.

mod json;
mod told;

use crate::cli::{Play, PracticeArgs};
use crate::failure::Failure;
use crate::words::Page;
use crate::{input, output};
use practice::policy::{Beside, ByLabel, ByPlan, beside, usual_looks};
use practice::{Difficulty, GRAMMAR, Game, MOVES_MOST, Move, PracticeError, Setup, play};
use std::io::{BufRead, IsTerminal, Write};

/// A script is lines of a few words.
const SCRIPT_BYTES_MOST: u64 = 1 << 20;

pub(crate) fn run(args: &PracticeArgs) -> Result<(), Failure> {
    let refuse = |e: PracticeError| Failure::input(format!("--{e}"));
    let setup = Setup {
        seed: args.seed.unwrap_or_else(new_seed),
        difficulty: Difficulty::from_id(&args.difficulty).map_err(refuse)?,
        weeks: args.weeks,
    };
    let game = Game::new(setup).map_err(|e| match e {
        PracticeError::Weeks { .. } => refuse(e),
        other => other_failure(&other),
    })?;
    match args.play {
        Some(who) => watch(args, &game, who),
        None => dosed_by_hand(args, game),
    }
}

/// The clock's microseconds: another tub each time. It is told, so that the game can be played again.
fn new_seed() -> u64 {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    since.map_or(1, |d| u64::from(d.subsec_micros()) + 1)
}

fn other_failure(e: &PracticeError) -> Failure {
    Failure::Other(e.to_string())
}

fn watch(args: &PracticeArgs, game: &Game, who: Play) -> Result<(), Failure> {
    let setup = game.setup();
    let looks = usual_looks(setup);
    let run = |policy: &mut dyn practice::Policy| play(setup, policy, &looks).map_err(|e| other_failure(&e));
    let plan = run(&mut ByPlan::ahead())?;
    let label = run(&mut ByLabel::default())?;
    let watched = if who == Play::Plan { &plan } else { &label };
    if args.json {
        return json::print(game, watched, None, &Beside { plan: plan.clone(), label: label.clone() });
    }
    let mut page = Page::new();
    told::tub(&mut page, game);
    page.heading("What was done");
    for line in &watched.log {
        told::line(&mut page, line);
    }
    told::end(&mut page, game, None, &Beside { plan: plan.clone(), label: label.clone() });
    output::data(&page.finish())
}

/// Where moves come from.
enum From {
    Terminal,
    Lines(String, Vec<String>),
}

fn dosed_by_hand(args: &PracticeArgs, mut game: Game) -> Result<(), Failure> {
    let from = match &args.script {
        Some(path) => {
            let bytes = input::whole_file(path, SCRIPT_BYTES_MOST).map_err(Failure::input)?;
            let name = if path.as_os_str() == "-" { "stdin".to_string() } else { path.display().to_string() };
            lines(name, bytes)?
        }
        None if std::io::stdin().is_terminal() => From::Terminal,
        None => {
            let bytes =
                input::whole_file(std::path::Path::new("-"), SCRIPT_BYTES_MOST).map_err(Failure::input)?;
            lines("stdin".to_string(), bytes)?
        }
    };
    match from {
        From::Terminal => typed(&mut game)?,
        From::Lines(name, lines) => scripted(&mut game, &name, &lines)?,
    }
    let setup = game.setup();
    let shown = game.clone();
    let ended = game.end().map_err(|e| other_failure(&e))?;
    let others = beside(setup, &ended.looks).map_err(|e| other_failure(&e))?;
    if args.json {
        return json::print(&shown, &ended, Some(&ended), &others);
    }
    let mut page = Page::new();
    if args.script.is_some() || !std::io::stdin().is_terminal() {
        told::tub(&mut page, &shown);
        page.heading("What you did");
        for line in &ended.log {
            told::line(&mut page, line);
        }
    }
    told::end(&mut page, &shown, Some(&ended), &others);
    output::data(&page.finish())
}

fn lines(name: String, bytes: Vec<u8>) -> Result<From, Failure> {
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::input(format!("{name}: is not text; UTF-8 is accepted")))?;
    Ok(From::Lines(name, text.lines().map(str::to_owned).collect()))
}

/// A line without its note.
fn bare(line: &str) -> &str {
    line.split('#').next().unwrap_or("").trim()
}

/// Every line a move; the first that is none, or cannot be made, is named with its line.
fn scripted(game: &mut Game, name: &str, lines: &[String]) -> Result<(), Failure> {
    let mut made = 0;
    for (i, line) in lines.iter().enumerate() {
        let text = bare(line);
        if text.is_empty() {
            continue;
        }
        if text == "end" {
            break;
        }
        made += 1;
        let told = |e: PracticeError| match e {
            PracticeError::Move { given, wrong, accepted, .. } => {
                Failure::input(format!("{name}:{}: \"{given}\": {wrong}; {accepted}", i + 1))
            }
            PracticeError::NotNow { .. } => Failure::input(format!("{name}:{}: \"{text}\": {e}", i + 1)),
            other => other_failure(&other),
        };
        if made > MOVES_MOST {
            return Err(told(PracticeError::TooMany { given: made, most: MOVES_MOST }));
        }
        let next = Move::parse(text, i + 1).map_err(told)?;
        game.make(&next).map_err(told)?;
    }
    Ok(())
}

/// Moves typed at a terminal: what is wrong is said, and another is waited for.
fn typed(game: &mut Game) -> Result<(), Failure> {
    let mut page = Page::new();
    told::tub(&mut page, game);
    page.gap();
    page.paragraph("Type a move; \"help\" names them all, \"end\" lets the rest of the time go by.");
    output::data(&page.finish())?;
    let mut made = 0;
    while !game.is_over() && made < MOVES_MOST {
        write!(std::io::stdout(), "{} > ", told::when(game.at_h()))?;
        std::io::stdout().flush()?;
        let mut line = String::new();
        if std::io::stdin().lock().read_line(&mut line)? == 0 {
            break;
        }
        match bare(&line) {
            "" => {}
            "end" | "quit" => break,
            "help" => output::data(&told::help(game))?,
            text => match Move::parse(text, made + 1).and_then(|next| game.make(&next).map(|_| ())) {
                Ok(()) => {
                    made += 1;
                    if let Some(line) = game.log().last() {
                        let mut page = Page::new();
                        told::line(&mut page, line);
                        output::data(&page.finish())?;
                    }
                }
                Err(PracticeError::Move { wrong, accepted, .. }) => {
                    output::talk(&format!("That {wrong}: {accepted}."));
                }
                Err(e) => output::talk(&format!("{e}.")),
            },
        }
    }
    Ok(())
}

/// What is accepted, in one line.
fn grammar() -> &'static str {
    GRAMMAR
}
