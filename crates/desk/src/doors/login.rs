//! Coming in and going out: the password checked, a session made or ended, failures counted.

use crate::doors::identify::{IDLE_US, SESSION_US};
use crate::doors::{address, password, secret};
use crate::state::App;
use book::{BookError, Session, Uuid};
use std::net::IpAddr;

/// Failed log-ins in a row under one name before it must wait, the first wait, and the longest. The wait doubles each time;
/// it is bounded so that nobody can be kept out for long by somebody else's guesses.
const FREE_TRIES: i64 = 5;
const FIRST_WAIT_US: i64 = 30 * 1_000_000;
const LONGEST_WAIT_US: i64 = 15 * 60 * 1_000_000;

/// Why somebody did not come in.
#[derive(Debug, thiserror::Error)]
pub(crate) enum LoginError {
    /// Name or password is wrong, or the account is closed: not said which.
    #[error("the name or the password is wrong")]
    Wrong,
    /// Too many tries.
    #[error("too many tries; the next one in {0} s")]
    Wait(u64),
    /// The book or the system did not answer.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The system has no randomness to give.
    #[error("no session could be made: {0}")]
    Secret(#[from] getrandom::Error),
}

/// The name as it is kept: small letters, no spaces around.
pub(crate) fn normal(login: &str) -> String {
    login.trim().to_lowercase()
}

fn wait_us(failed: i64) -> i64 {
    let doublings = (failed - FREE_TRIES).clamp(0, 10);
    (FIRST_WAIT_US << doublings).min(LONGEST_WAIT_US)
}

impl App {
    /// Checks name and password; gives the secret of a new session.
    pub(crate) async fn log_in(
        &self,
        login: &str,
        given: &str,
        from: Option<IpAddr>,
    ) -> Result<String, LoginError> {
        let now = self.now_us();
        self.inner.doors.logins.take(&address::asker(from), now).map_err(LoginError::Wait)?;
        let login = normal(login);
        let name_hash = secret::hash(&login);
        let until = self.book().attempts(&name_hash).await?.until_us;
        if until > now {
            return Err(LoginError::Wait(u64::try_from((until - now) / 1_000_000 + 1).unwrap_or(1)));
        }
        let account = self.book().account(&login).await?;
        let hash = account.as_ref().map(|a| a.password.clone());
        let right = self.is_right(given, hash).await;
        let person = match &account {
            Some(account) if right => self.person(account.person).await?,
            _ => None,
        };
        let Some(who) = person else {
            let failed = self.book().count_failure(&name_hash, now).await?;
            if failed >= FREE_TRIES {
                self.book().lock_out(&name_hash, now + wait_us(failed)).await?;
            }
            // A name that is nobody's may be a password in the wrong field: it is not written down.
            let name = account.as_ref().map_or("an unknown name", |a| a.login.as_str());
            // Nor is it said to be by that person: whoever guessed may be anybody.
            self.audit("failed log-in", name, None, from).await?;
            return Err(LoginError::Wrong);
        };
        self.book().forget_failures(&name_hash).await?;
        self.book().sweep_doors(now - IDLE_US, now - SESSION_US, now - 2 * super::identify::DAY_US).await?;
        let secret = self.new_session(who.person.unwrap_or_default(), from).await?;
        self.audit("log-in", &who.name, who.person, from).await?;
        Ok(secret)
    }

    /// Whether a password is right, checked off the threads that serve, a few at a time.
    pub(crate) async fn is_right(&self, given: &str, hash: Option<String>) -> bool {
        let given = given.to_owned();
        let _turn = self.inner.doors.checks.acquire().await;
        tokio::task::spawn_blocking(move || password::is_right(&given, hash.as_deref()))
            .await
            .unwrap_or(false)
    }

    /// A new session of somebody; gives its secret.
    pub(crate) async fn new_session(&self, person: Uuid, from: Option<IpAddr>) -> Result<String, LoginError> {
        let secret = secret::new()?;
        let now = self.now_us();
        let address = from.map(|a| a.to_string()).unwrap_or_default();
        let session = Session { person, made_us: now, seen_us: now, address };
        self.book().add_session(&secret::hash(&secret), &session).await?;
        Ok(secret)
    }

    /// The header that gives a browser its session, or takes it away.
    pub(crate) fn set_cookie(&self, secret: Option<&str>) -> String {
        let name = self.cookie_name();
        let secure = if self.is_secure() { "; Secure" } else { "" };
        let (value, seconds) = secret.map_or(("", 0), |s| (s, SESSION_US / 1_000_000));
        format!("{name}={value}; Path=/; HttpOnly; SameSite=Lax; Max-Age={seconds}{secure}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wait_doubles_and_ends_at_a_quarter_of_an_hour() {
        let minutes: Vec<f64> = (5..=12).map(|n| wait_us(n) as f64 / 60e6).collect();
        assert_eq!(minutes, [0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 15.0, 15.0]);
        assert_eq!(wait_us(i64::MAX), LONGEST_WAIT_US);
    }
}
