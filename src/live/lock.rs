//! Supervisor's actions under a PIN. A convenience for people who share a box: whoever owns the files can change them.

use std::time::{Duration, Instant};

use argon2::password_hash::rand_core::OsRng;
use argon2::password_hash::{PasswordHash, PasswordHasher as _, PasswordVerifier as _, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};

/// Shortest and longest PIN, in characters.
const LENGTH: std::ops::RangeInclusive<usize> = 4..=64;

/// Wrong PINs until the next try has to wait.
const FREE_TRIES: u32 = 5;

/// How long it has to wait then.
const PAUSE: Duration = Duration::from_secs(30);

/// Why a PIN was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PinError {
    /// It is not the one.
    #[error("that is not the PIN")]
    Wrong,
    /// Too many were wrong.
    #[error("too many wrong PINs; try again in {0} s")]
    Wait(u64),
    /// It cannot be one.
    #[error("a PIN has {} to {} characters, none of them hidden", LENGTH.start(), LENGTH.end())]
    Unfit,
    /// What is stored is no hash of a PIN.
    #[error("what is stored is not the hash of a PIN: {0}")]
    NoHash(String),
}

/// The lock on a supervisor's actions at one terminal. Instants come from whoever asks.
#[derive(Debug)]
pub struct Lock {
    hash: String,
    idle: Duration,
    open_since: Option<Instant>,
    wrong: u32,
    not_before: Option<Instant>,
}

/// Argon2id with 19 MiB and two passes (RFC 9106, and the lower of the two settings OWASP names).
fn hasher() -> Argon2<'static> {
    let params = Params::new(19 * 1024, 2, 1, None).expect("within the bounds of RFC 9106");
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// What is stored of a PIN: a salted hash in PHC form. Two of one PIN differ.
pub fn hash_pin(pin: &str) -> Result<String, PinError> {
    if !LENGTH.contains(&pin.chars().count()) || pin.chars().any(char::is_control) {
        return Err(PinError::Unfit);
    }
    let salt = SaltString::generate(&mut OsRng);
    let hash = hasher().hash_password(pin.as_bytes(), &salt);
    hash.map(|h| h.to_string()).map_err(|e| PinError::NoHash(e.to_string()))
}

impl Lock {
    /// A lock that is shut, from what is stored. It shuts again after so long without a key.
    pub fn new(hash: &str, idle: Duration) -> Result<Self, PinError> {
        let parsed = PasswordHash::new(hash).map_err(|e| PinError::NoHash(e.to_string()))?;
        let params = Params::try_from(&parsed).map_err(|e| PinError::NoHash(e.to_string()))?;
        if params.m_cost() > 1 << 20 || params.t_cost() > 100 || params.p_cost() > 16 {
            return Err(PinError::NoHash("it would take more than 1 GiB or 100 passes".to_owned()));
        }
        Ok(Self { hash: hash.to_owned(), idle, open_since: None, wrong: 0, not_before: None })
    }

    /// Opens it, if the PIN is right.
    pub fn open(&mut self, pin: &str, now: Instant) -> Result<(), PinError> {
        if let Some(wait) =
            self.not_before.and_then(|t| t.checked_duration_since(now)).filter(|d| !d.is_zero())
        {
            return Err(PinError::Wait(wait.as_secs() + 1));
        }
        let parsed = PasswordHash::new(&self.hash).map_err(|e| PinError::NoHash(e.to_string()))?;
        if hasher().verify_password(pin.as_bytes(), &parsed).is_err() {
            self.wrong += 1;
            if self.wrong >= FREE_TRIES {
                self.not_before = Some(now + PAUSE);
            }
            return Err(PinError::Wrong);
        }
        (self.wrong, self.not_before, self.open_since) = (0, None, Some(now));
        Ok(())
    }

    /// True if it is open and a key was pressed not too long ago.
    pub fn is_open(&self, now: Instant) -> bool {
        self.open_since.is_some_and(|t| now.saturating_duration_since(t) < self.idle)
    }

    /// A key was pressed: what is open stays open.
    pub fn touch(&mut self, now: Instant) {
        self.open_since = if self.is_open(now) { Some(now) } else { None };
    }

    /// Shuts it.
    pub fn shut(&mut self) {
        self.open_since = None;
    }
}
