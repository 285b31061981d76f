//! Practice: a simulated tub to dose, played again from its moves at every request. Nothing is written to the book.
//!
//! A game is its address: seed, difficulty, weeks and the moves so far. What it can cost is bounded: weeks, moves, and one
//! game at a time on this server.

mod ended;
mod told;

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::shell;
use crate::page::typed::Typed;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use ::practice::policy::{Beside, beside};
use ::practice::{DIFFICULTIES, Difficulty, Ended, Game, Move, PracticeError, Setup, WEEKS_MOST};
use axum::Router;
use axum::extract::Query;
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::{Markup, html};
use tokio::sync::Semaphore;

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/practice", Role::Viewer)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/practice", get(show))
}

/// Most moves of a game on a page, and most text that they take.
const MOVES_MOST: usize = 250;
const TEXT_MOST: usize = 8_000;

/// One game is followed at a time, so that nobody's practice takes the server from the others' work.
static ONE: Semaphore = Semaphore::const_new(1);

/// A game as far as it was played.
struct Played {
    game: Game,
    /// Why the last move was not made.
    refused: Option<String>,
    ended: Option<(Ended, Beside)>,
}

async fn show(ctx: Ctx, Query(asked): Query<Vec<(String, String)>>) -> Answer {
    let mut typed = Typed::from(asked);
    let Some(setup) = setup(&ctx, &mut typed) else {
        return Ok(shell::page(&ctx, &t!(ctx, "practice-title"), &start(&ctx, &typed)).into_response());
    };
    let moves = typed.text("moves").unwrap_or_default().to_owned();
    let next = next(&ctx, &mut typed);
    let end = typed.text("do") == Some("end");
    let played = played(setup, moves, next, end).await;
    let played = played.map_err(|why| PageError::Unusable(vec![why]).at(&ctx))?;
    let body = html! {
        (heading(&ctx))
        @if let Some((you, others)) = &played.ended {
            (ended::side_by_side(&ctx, &played.game, you, others))
            (told::log(&ctx, &played.game))
            div.actions { a.button href="/practice" { (t!(ctx, "practice-another")) } }
        } @else {
            (typed.wrong())
            @if let Some(why) = &played.refused { p.fault role="alert" lang="en" { (why) } }
            (told::last(&ctx, &played.game))
            (hands(&ctx, &played.game, &typed))
            (told::tub(&ctx, &played.game))
            (told::log(&ctx, &played.game))
        }
    };
    Ok(shell::page(&ctx, &t!(ctx, "practice-title"), &body).into_response())
}

fn heading(ctx: &Ctx) -> Markup {
    html! {
        p.back { a href="/setup" { (t!(ctx, "nav-setup")) } }
        div.heading { h1 { (t!(ctx, "practice-title")) } p { (t!(ctx, "practice-invented")) } }
    }
}

/// Which game is asked for; `None` before one was begun, or with faults.
fn setup(ctx: &Ctx, typed: &mut Typed) -> Option<Setup> {
    let seed = typed.text("seed")?.to_owned();
    let seed = seed.parse::<u64>().ok();
    let weeks =
        typed.text("weeks").unwrap_or("4").parse::<u32>().ok().filter(|w| (1..=WEEKS_MOST).contains(w));
    let difficulty = Difficulty::from_id(typed.text("difficulty").unwrap_or("usual")).ok();
    if seed.is_none() {
        typed.fault("seed", t!(ctx, "practice-seed-fault"));
    }
    if weeks.is_none() {
        typed.fault("weeks", t!(ctx, "practice-weeks-fault", most = WEEKS_MOST));
    }
    if difficulty.is_none() {
        typed.fault("difficulty", t!(ctx, "practice-difficulty-fault"));
    }
    Some(Setup { seed: seed?, difficulty: difficulty?, weeks: weeks? })
}

fn start(ctx: &Ctx, typed: &Typed) -> Markup {
    let mut typed = typed.clone();
    if typed.text("seed").is_none() {
        // Another tub at every look at this page.
        typed.set("seed", (ctx.now.as_microsecond().unsigned_abs() % 1_000_000).to_string());
        typed.set("difficulty", "usual");
        typed.set("weeks", "4");
    }
    let difficulties: Vec<(String, String)> = DIFFICULTIES
        .iter()
        .map(|d| (d.id().to_owned(), ctx.say(&format!("practice-{}", d.id()), None)))
        .collect();
    html! {
        (heading(ctx))
        (typed.wrong())
        p { (t!(ctx, "practice-lead")) }
        form.practice-start method="get" action="/practice" {
            (typed.choice("difficulty", &t!(ctx, "practice-difficulty"), &difficulties))
            (typed.line("weeks", &t!(ctx, "practice-weeks"), "number"))
            (typed.line("seed", &t!(ctx, "practice-seed"), "number"))
            p.hint { (t!(ctx, "practice-seed-hint")) }
            div.actions { button type="submit" { (t!(ctx, "practice-begin")) } }
        }
    }
}

/// The move that a form asks for; a number that is none is a fault.
fn next(ctx: &Ctx, typed: &mut Typed) -> Option<String> {
    let percent = |n: f64| n / 100.0;
    match typed.text("do")? {
        "read" => Some(format!("read {}", typed.text("kit")?)),
        "dose" => {
            let product = typed.text("product")?.to_owned();
            Some(format!("dose {product} {}", number(ctx, typed, "amount")?))
        }
        "replace" => Some(format!("replace {}", percent(number(ctx, typed, "share")?))),
        "cell" => Some(format!("cell {}", percent(number(ctx, typed, "duty")?))),
        "air" => Some(format!("air {}", number(ctx, typed, "hours")?)),
        "wait" => Some(format!("wait {}", number(ctx, typed, "days")?)),
        "top-up" => Some("top-up".to_owned()),
        _ => None,
    }
}

fn number(ctx: &Ctx, typed: &mut Typed, field: &str) -> Option<f64> {
    if typed.text(field).is_none() {
        typed.fault(field, t!(ctx, "practice-amount-fault"));
    }
    typed.number(ctx, field)
}

/// Plays the moves, and the next one.
async fn played(setup: Setup, moves: String, next: Option<String>, end: bool) -> Result<Played, String> {
    if moves.len() > TEXT_MOST {
        return Err(format!(
            "the moves are {} characters long; at most {TEXT_MOST} are accepted",
            moves.len()
        ));
    }
    let Ok(permit) = ONE.acquire().await else { return Err("the server is ending".to_owned()) };
    let work = tokio::task::spawn_blocking(move || {
        // Held until the work is done, even if whoever asked has gone.
        let _permit = permit;
        follow(setup, &moves, next.as_deref(), end)
    });
    work.await.map_err(|why| why.to_string())?.map_err(|why| why.to_string())
}

fn follow(setup: Setup, moves: &str, next: Option<&str>, end: bool) -> Result<Played, PracticeError> {
    let moves = Move::list(moves)?;
    if moves.len() > MOVES_MOST {
        return Err(PracticeError::TooMany { given: moves.len(), most: MOVES_MOST });
    }
    let mut game = Game::replayed(setup, &moves)?;
    let mut refused = None;
    if let Some(next) = next {
        let full = moves.len() >= MOVES_MOST;
        let made = match Move::parse(next, moves.len() + 1) {
            _ if full => Err(PracticeError::TooMany { given: moves.len() + 1, most: MOVES_MOST }),
            Ok(next) => game.make(&next).map(|_| ()),
            Err(why) => Err(why),
        };
        refused = made.err().map(|why| why.to_string());
    }
    let ended = if end || game.is_over() {
        let you = game.clone().end()?;
        let others = beside(setup, &you.looks)?;
        Some((you, others))
    } else {
        None
    };
    Ok(Played { game, refused, ended })
}

/// What carries the game from form to form.
fn carried(game: &Game, what: &str) -> Markup {
    let setup = game.setup();
    let moves: Vec<String> = game.log().iter().map(|l| l.made.to_string()).collect();
    html! {
        input type="hidden" name="seed" value=(setup.seed);
        input type="hidden" name="difficulty" value=(setup.difficulty.id());
        input type="hidden" name="weeks" value=(setup.weeks);
        input type="hidden" name="moves" value=(moves.join(";"));
        input type="hidden" name="do" value=(what);
    }
}

/// What can be done now: one short form each.
fn hands(ctx: &Ctx, game: &Game, typed: &Typed) -> Markup {
    let cell = game.case().tub.regime == care::band::Regime::SaltCell;
    let kits: Vec<(String, String)> = ::practice::KITS
        .iter()
        .filter(|k| cell || k.quantity != care::quantity::Quantity::Salt)
        .map(|k| (format!("{} {}", k.quantity.id(), k.method), told::kit(ctx, k.quantity, k.method)))
        .collect();
    let products: Vec<(String, String)> =
        game.case().shelf.iter().map(|p| (p.name.clone(), told::product(ctx, p))).collect();
    html! {
        section.practice-hands aria-labelledby="practice-do" {
            h2 #practice-do { (t!(ctx, "practice-do")) }
            (form(ctx, game, "read", "practice-read", &typed.choice("kit", &t!(ctx, "practice-kit"), &kits)))
            (form(ctx, game, "dose", "practice-dose", &html! {
                (typed.choice("product", &t!(ctx, "practice-product"), &products))
                (typed.line("amount", &t!(ctx, "practice-amount"), "number"))
                p.caution { (t!(ctx, "practice-caution")) }
            }))
            (form(ctx, game, "wait", "practice-wait", &typed.line("days", &t!(ctx, "practice-days"), "number")))
            (form(ctx, game, "top-up", "practice-top-up", &html! {
                @if game.is_low() { p { (t!(ctx, "practice-low")) } }
            }))
            details {
                summary { (t!(ctx, "practice-more")) }
                (form(ctx, game, "air", "practice-air", &typed.line("hours", &t!(ctx, "practice-hours"), "number")))
                (form(ctx, game, "replace", "practice-replace", &typed.line("share", &t!(ctx, "practice-share"), "number")))
                @if cell {
                    (form(ctx, game, "cell", "practice-cell", &typed.line("duty", &t!(ctx, "practice-duty"), "number")))
                }
            }
            (form(ctx, game, "end", "practice-end", &html! { p.hint { (t!(ctx, "practice-end-hint")) } }))
        }
    }
}

fn form(ctx: &Ctx, game: &Game, what: &str, button: &str, fields: &Markup) -> Markup {
    html! {
        form.practice-move method="get" action="/practice" {
            (carried(game, what))
            (fields)
            div.actions { button type="submit" { (ctx.say(button, None)) } }
        }
    }
}
