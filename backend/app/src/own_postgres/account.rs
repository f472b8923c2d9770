//! Users of the operating system, as far as stepping down from root needs them.

use std::fs;

use super::OwnPostgresError;

/// A user of the operating system.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Its name.
    pub name: String,
    /// Its user id.
    pub uid: u32,
    /// The id of its first group.
    pub gid: u32,
}

/// Whether this program runs with root's rights.
#[must_use]
pub fn runs_as_root() -> bool {
    rustix::process::geteuid().is_root()
}

/// The user of that name in `/etc/passwd` (format: passwd(5)).
#[must_use]
pub fn account_named(name: &str) -> Option<Account> {
    account_in(&fs::read_to_string("/etc/passwd").ok()?, |a| a.name == name)
}

/// The name of the user this program runs as, or its number if it has none.
pub(super) fn own_name() -> String {
    let uid = rustix::process::geteuid().as_raw();
    fs::read_to_string("/etc/passwd")
        .ok()
        .and_then(|p| account_in(&p, |a| a.uid == uid))
        .map_or_else(|| uid.to_string(), |a| a.name)
}

/// Whom to run Postgres as: nobody else when this program is not root.
pub(super) fn postgres_account() -> Result<Option<Account>, OwnPostgresError> {
    if !runs_as_root() {
        return Ok(None);
    }
    account_named("postgres")
        .or_else(|| account_named("nobody"))
        .map(Some)
        .ok_or(OwnPostgresError::NoAccount)
}

fn account_in(passwd: &str, is_it: impl Fn(&Account) -> bool) -> Option<Account> {
    passwd.lines().find_map(|line| {
        let mut fields = line.split(':');
        let account = Account {
            name: fields.next()?.to_owned(),
            uid: fields.nth(1)?.parse().ok()?,
            gid: fields.next()?.parse().ok()?,
        };
        is_it(&account).then_some(account)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_name_user_and_group() {
        let passwd = "root:x:0:0:root:/root:/bin/bash\nodd line\nnobody:x:65534:65533:nobody:/:/usr/sbin/nologin\n";
        let found = account_in(passwd, |a| a.name == "nobody");
        assert_eq!(
            found,
            Some(Account {
                name: "nobody".into(),
                uid: 65534,
                gid: 65533
            })
        );
        assert_eq!(account_in(passwd, |a| a.name == "odd line"), None);
    }
}
