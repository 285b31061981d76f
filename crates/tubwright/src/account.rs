//! `tubwright account`: who can log in to a book that is served to others.

use crate::cli::{AccountArgs, AccountCommand};
use crate::failure::Failure;
use crate::output;
use book::{Book, Place};
use desk::accounts::{self, AccountError};
use std::io::{BufRead, IsTerminal, Read};

/// The longest password that is read, bytes; the accepted ones are shorter.
const PASSWORD_BYTES_MOST: u64 = 4096;

/// Does what was asked, on a book that may be served at the same time.
pub(crate) fn run(args: AccountArgs) -> Result<(), Failure> {
    let place = match &args.book {
        Some(text) => Place::parse(text),
        None => Place::default_file(),
    };
    let place = place.map_err(|e| Failure::input(e.to_string()))?;
    // Asked for before the book is opened: a person takes their time.
    let password = match &args.what {
        AccountCommand::Add { password_stdin, .. } | AccountCommand::Password { password_stdin, .. } => {
            password(*password_stdin)?
        }
        _ => String::new(),
    };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.map_err(|e| Failure::Other(format!("the book cannot be opened: {e}")))?;
    runtime.block_on(act(&place, args.what, &password))
}

async fn act(place: &Place, what: AccountCommand, password: &str) -> Result<(), Failure> {
    let book = Book::open(place).await.map_err(|e| failure(e.into()))?;
    let now_us = jiff::Timestamp::now().as_microsecond();
    let done = match what {
        AccountCommand::Add { login, person: Some(person), .. } => {
            accounts::attach(&book, &login, person, password, now_us).await.map_err(failure)?;
            format!("{login} can log in.")
        }
        AccountCommand::Add { login, name, role, .. } => {
            let name = name.unwrap_or_else(|| login.clone());
            accounts::add(&book, &login, &name, &role, password, now_us).await.map_err(failure)?;
            format!("{login} can log in, as {role}.")
        }
        AccountCommand::List { json } => {
            let all = accounts::list(&book).await.map_err(failure)?;
            book.close().await;
            return list(&all, json);
        }
        AccountCommand::Role { login, role } => {
            accounts::set_role(&book, &login, &role, now_us).await.map_err(failure)?;
            format!("{login} is {role} from now on.")
        }
        AccountCommand::Password { login, .. } => {
            accounts::set_password(&book, &login, password, now_us).await.map_err(failure)?;
            format!("{login} has a new password; every session and token of {login} has ended.")
        }
        AccountCommand::Disable { login } => {
            accounts::set_disabled(&book, &login, true, now_us).await.map_err(failure)?;
            format!("{login} can no longer log in.")
        }
        AccountCommand::Enable { login } => {
            accounts::set_disabled(&book, &login, false, now_us).await.map_err(failure)?;
            format!("{login} can log in again.")
        }
        AccountCommand::Token { login, name, days, reads_only } => {
            let secret = accounts::add_token(&book, &login, &name, reads_only, days, now_us).await;
            output::data(&format!("{}\n", secret.map_err(failure)?))?;
            format!("The token of {login} ends in {days} days. It is not shown again.")
        }
    };
    book.close().await;
    output::talk(&done);
    Ok(())
}

fn list(all: &[accounts::Listed], json: bool) -> Result<(), Failure> {
    if json {
        let rows: Vec<_> = all
            .iter()
            .map(|a| serde_json::json!({ "login": a.login, "name": a.name, "role": a.role, "disabled": a.disabled }))
            .collect();
        return output::data(&format!("{:#}\n", serde_json::Value::Array(rows)));
    }
    if all.is_empty() {
        output::talk("Nobody can log in: `tubwright account add NAME --role lead` makes the first account.");
    }
    let rows = all.iter().map(|a| {
        let closed = if a.disabled { "  closed" } else { "" };
        format!("{:<16}  {:<10}  {}{closed}\n", a.login, a.role, a.name)
    });
    output::data(&rows.collect::<String>())
}

/// A password, typed twice without being shown, or the first line of stdin.
fn password(from_stdin: bool) -> Result<String, Failure> {
    let unreadable = |e: std::io::Error| Failure::input(format!("the password cannot be read: {e}"));
    if from_stdin {
        let mut line = String::new();
        let mut stdin = std::io::stdin().lock().take(PASSWORD_BYTES_MOST);
        stdin.read_line(&mut line).map_err(unreadable)?;
        return Ok(line.trim_end_matches(['\r', '\n']).to_owned());
    }
    if !std::io::stdin().is_terminal() {
        return Err(Failure::input(
            "there is no terminal to ask for the password; with --password-stdin the first line of stdin is accepted",
        ));
    }
    let first = rpassword::prompt_password("Password (12 signs or more): ").map_err(unreadable)?;
    let again = rpassword::prompt_password("The same again: ").map_err(unreadable)?;
    if first != again {
        return Err(Failure::input("the two passwords differ; nothing was changed"));
    }
    Ok(first)
}

fn failure(e: AccountError) -> Failure {
    match &e {
        AccountError::Book(book) if !book.is_input() => Failure::Other(e.to_string()),
        AccountError::Secret(_) => Failure::Other(e.to_string()),
        _ => Failure::input(e.to_string()),
    }
}
