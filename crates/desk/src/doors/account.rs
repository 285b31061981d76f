//! Accounts as the command line and the pages change them. Who has which role stands in the record, as a version of the
//! person; what opens the door stands beside it.

use crate::doors::identify::DAY_US;
use crate::doors::password::{self, PasswordError};
use crate::doors::{audit, login, secret};
use book::{Account, Book, BookError, Kind, NewEntry, Token, Uuid};
use serde_json::json;

/// The roles that an account can have.
pub const ROLES: [&str; 3] = ["lead", "technician", "viewer"];
/// How long a token lives at most, days.
pub const TOKEN_DAYS_MOST: i64 = 366;

/// Why an account was not changed.
#[derive(Debug, thiserror::Error)]
pub enum AccountError {
    /// The name cannot be one.
    #[error("the name \"{0}\" cannot be used; 1 to 64 letters, digits and . _ @ - are accepted")]
    Login(String),
    /// Nobody has it.
    #[error("there is no account \"{0}\"; `tubwright account list` names them")]
    Unknown(String),
    /// Somebody has it.
    #[error("there is an account \"{0}\" already; `tubwright account password` changes its password")]
    Taken(String),
    /// No such person.
    #[error("no person {0} is in the book; the id of one who works there is accepted")]
    Person(Uuid),
    /// No such role.
    #[error("the role \"{0}\" is not known; lead, technician or viewer is accepted")]
    Role(String),
    /// The password.
    #[error(transparent)]
    Password(#[from] PasswordError),
    /// A token's name or days.
    #[error("{0}")]
    Token(String),
    /// The book.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The system.
    #[error("no secret could be made: {0}")]
    Secret(#[from] getrandom::Error),
}

/// An account as a list shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The name that is typed.
    pub login: String,
    /// The person's name.
    pub name: String,
    /// Their role; empty if the record has no such person any more.
    pub role: String,
    /// Whether it is closed.
    pub disabled: bool,
}

fn checked_login(given: &str) -> Result<String, AccountError> {
    let login = login::normal(given);
    let fine = (1..=64).contains(&login.chars().count())
        && login.chars().all(|c| c.is_alphanumeric() || ".-_@".contains(c));
    if fine { Ok(login) } else { Err(AccountError::Login(given.to_owned())) }
}

fn checked_role(role: &str) -> Result<(), AccountError> {
    if ROLES.contains(&role) { Ok(()) } else { Err(AccountError::Role(role.to_owned())) }
}

async fn known(book: &Book, login: &str) -> Result<Account, AccountError> {
    let normal = login::normal(login);
    book.account(&normal).await?.ok_or(AccountError::Unknown(normal))
}

async fn note(book: &Book, what: &str, who: &str, now_us: i64) -> Result<(), BookError> {
    book.record(&[audit::entry(what, who, None, None, now_us)], now_us).await.map(drop)
}

/// Makes a person with an account.
///
/// # Errors
/// [`AccountError`].
pub async fn add(
    book: &Book,
    login: &str,
    name: &str,
    role: &str,
    new_password: &str,
    now_us: i64,
) -> Result<(), AccountError> {
    let login = checked_login(login)?;
    checked_role(role)?;
    password::check_new(new_password, &login)?;
    if book.account(&login).await?.is_some() {
        return Err(AccountError::Taken(login));
    }
    let person = Uuid::now_v7();
    let body = json!({ "name": name, "role": role });
    let entry = NewEntry {
        id: Uuid::now_v7(),
        kind: Kind::Person,
        subject: Some(person),
        at_us: now_us,
        by: None,
        corrects: None,
        body,
    };
    let audit =
        audit::entry(&format!("account {login} made, role {role}"), "the command line", None, None, now_us);
    book.record(&[entry, audit], now_us).await?;
    let account = Account {
        person,
        login,
        password: password::hashed(new_password)?,
        disabled: false,
        made_us: now_us,
    };
    Ok(book.set_account(&account).await?)
}

/// Gives an account to somebody whom the record has already, with the name and role that they have there.
///
/// # Errors
/// [`AccountError`].
pub async fn attach(
    book: &Book,
    login: &str,
    person: Uuid,
    new_password: &str,
    now_us: i64,
) -> Result<(), AccountError> {
    let login = checked_login(login)?;
    password::check_new(new_password, &login)?;
    if book.account(&login).await?.is_some() {
        return Err(AccountError::Taken(login));
    }
    if book.thing(Kind::Person, person).await?.is_none_or(|p| p.archived) {
        return Err(AccountError::Person(person));
    }
    note(book, &format!("account {login} made for {person}"), "the command line", now_us).await?;
    let password = password::hashed(new_password)?;
    let account = Account { person, login, password, disabled: false, made_us: now_us };
    Ok(book.set_account(&account).await?)
}

/// Every account.
///
/// # Errors
/// [`AccountError::Book`].
pub async fn list(book: &Book) -> Result<Vec<Listed>, AccountError> {
    let mut all = Vec::new();
    for account in book.accounts().await? {
        let person = book.thing(Kind::Person, account.person).await?;
        let role = person.as_ref().and_then(|p| p.body["role"].as_str()).unwrap_or_default().to_owned();
        let name = person.map(|p| p.name).unwrap_or_default();
        all.push(Listed { login: account.login, name, role, disabled: account.disabled });
    }
    Ok(all)
}

/// Gives somebody another role, as a new version of the person.
///
/// # Errors
/// [`AccountError`].
pub async fn set_role(book: &Book, login: &str, role: &str, now_us: i64) -> Result<(), AccountError> {
    checked_role(role)?;
    let account = known(book, login).await?;
    let person = book.thing(Kind::Person, account.person).await?;
    let mut body = person.map_or_else(|| json!({ "name": account.login }), |p| p.body);
    body["role"] = role.into();
    let entry = NewEntry {
        id: Uuid::now_v7(),
        kind: Kind::Person,
        subject: Some(account.person),
        at_us: now_us,
        by: None,
        corrects: None,
        body,
    };
    let what = format!("account {} has the role {role}", account.login);
    let audit = audit::entry(&what, "the command line", None, None, now_us);
    book.record(&[entry, audit], now_us).await?;
    Ok(())
}

/// Gives somebody another password. Every session and token of theirs ends: whoever knew the old one is out.
///
/// # Errors
/// [`AccountError`].
pub async fn set_password(
    book: &Book,
    login: &str,
    new_password: &str,
    now_us: i64,
) -> Result<(), AccountError> {
    let account = known(book, login).await?;
    password::check_new(new_password, &account.login)?;
    let account = Account { password: password::hashed(new_password)?, ..account };
    book.set_account(&account).await?;
    book.end_sessions(account.person, "").await?;
    book.revoke_tokens(account.person).await?;
    book.forget_failures(&secret::hash(&account.login)).await?;
    note(book, &format!("account {}: new password", account.login), "the command line", now_us).await?;
    Ok(())
}

/// Closes an account, or opens it again. Closed, every session and token of it ends at once.
///
/// # Errors
/// [`AccountError`].
pub async fn set_disabled(book: &Book, login: &str, disabled: bool, now_us: i64) -> Result<(), AccountError> {
    let account = Account { disabled, ..known(book, login).await? };
    book.set_account(&account).await?;
    if disabled {
        book.end_sessions(account.person, "").await?;
        book.revoke_tokens(account.person).await?;
    }
    let what = format!("account {} {}", account.login, if disabled { "closed" } else { "opened again" });
    note(book, &what, "the command line", now_us).await?;
    Ok(())
}

/// Makes a token for somebody's scripts; gives the secret, which is shown this once.
///
/// # Errors
/// [`AccountError`].
pub async fn add_token(
    book: &Book,
    login: &str,
    name: &str,
    reads_only: bool,
    days: i64,
    now_us: i64,
) -> Result<String, AccountError> {
    let account = known(book, login).await?;
    let secret = token_of(book, account.person, name, reads_only, days, now_us).await?;
    note(
        book,
        &format!("account {}: token \"{}\" made", account.login, name.trim()),
        "the command line",
        now_us,
    )
    .await?;
    Ok(secret)
}

/// The same for a person.
pub(crate) async fn token_of(
    book: &Book,
    person: Uuid,
    name: &str,
    reads_only: bool,
    days: i64,
    now_us: i64,
) -> Result<String, AccountError> {
    let name = name.trim();
    if name.is_empty() || name.chars().count() > 100 {
        return Err(AccountError::Token(
            "the token's name is missing or too long; 1 to 100 signs are accepted".into(),
        ));
    }
    if !(1..=TOKEN_DAYS_MOST).contains(&days) {
        return Err(AccountError::Token(format!(
            "{days} days cannot be used; 1 to {TOKEN_DAYS_MOST} are accepted"
        )));
    }
    // The mark in front lets a scanner of files find a token that slipped into one.
    let secret = format!("tubwright_{}", secret::new()?);
    let ends_us = now_us + days * DAY_US;
    let token = Token {
        id: Uuid::now_v7(),
        person,
        name: name.to_owned(),
        reads_only,
        made_us: now_us,
        seen_us: None,
        ends_us,
    };
    book.add_token(&secret::hash(&secret), &token).await?;
    Ok(secret)
}
