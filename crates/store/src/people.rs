//! People, invitations and tokens. Passwords come in as the slow hash that the edge made of them.

use crate::audit::note;
use crate::pool::on;
use crate::{Stamp, Store, Trouble, secret};
use serde::{Deserialize, Serialize};

/// What a person or a token may do; each role may do all that those before it may.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Looks at everything but people and the audit log.
    Viewer,
    /// Also prints and downloads sheets and checks set-ups.
    Operator,
    /// Also changes boards, parts, lines, locks, and plans.
    Engineer,
    /// Also manages people and tokens and reads the audit log.
    Administrator,
}

/// All roles, least first.
pub const ROLES: [Role; 4] = [Role::Viewer, Role::Operator, Role::Engineer, Role::Administrator];

impl Role {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Viewer => "viewer",
            Self::Operator => "operator",
            Self::Engineer => "engineer",
            Self::Administrator => "administrator",
        }
    }

    /// The role of a word.
    pub fn of(word: &str) -> Option<Self> {
        ROLES.into_iter().find(|r| r.word() == word)
    }

    fn stored(word: &str) -> Result<Self, Trouble> {
        Self::of(word).ok_or_else(|| Trouble::Database(format!("the unknown role `{word}` is stored")))
    }
}

/// Somebody who signs in.
#[derive(Clone, Debug, Serialize)]
pub struct Person {
    /// Identity.
    pub id: String,
    /// Name to sign in with.
    pub name: String,
    /// What the person may do.
    pub role: Role,
    /// Slow hash of the password.
    #[serde(skip)]
    pub password: String,
    /// Whether signing in is refused.
    pub disabled: bool,
    /// Since when the person is known [µs since 1970].
    pub created: Stamp,
}

/// Access of a program, without its secret.
#[derive(Clone, Debug, Serialize)]
pub struct Token {
    /// Identity.
    pub id: String,
    /// Name of the person it acts for.
    pub person: String,
    /// What it is for, in words.
    pub label: String,
    /// What it may do; never more than its person.
    pub role: Role,
    /// When it was made [µs since 1970].
    pub created: Stamp,
    /// When it ends [µs since 1970].
    pub expires: Stamp,
    /// Whether it was taken back.
    pub revoked: bool,
}

type PersonRow = (String, String, String, String, i64, i64);
/// A link stands as long as who made it may make links; that of the first start until somebody is known.
const STANDS: &str = "NOT EXISTS (SELECT 1 FROM person p WHERE p.name = invitation.author AND (p.role <> 'administrator' OR p.disabled = 1)) \
    AND (author <> 'first start' OR NOT EXISTS (SELECT 1 FROM person))";

/// Who is said to have made the link of a room in which nobody is known.
pub const FIRST_START: &str = "first start";

const PERSON: &str = "id, name, role, password, disabled, created";

fn person((id, name, role, password, disabled, created): PersonRow) -> Result<Person, Trouble> {
    Ok(Person { id, name, role: Role::stored(&role)?, password, disabled: disabled != 0, created })
}

impl Store {
    /// Whether nobody is known yet.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn is_new(&self) -> Result<bool, Trouble> {
        let (n,): (i64,) = on!(self, pool => sqlx::query_as("SELECT COUNT(*) FROM person").fetch_one(pool).await?);
        Ok(n == 0)
    }

    /// Makes a link's secret that lets one person in with a role until `expires`.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn invite(&self, role: Role, expires: Stamp, author: &str) -> Result<String, Trouble> {
        let (secret, created) = (secret::secret(), crate::now());
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            sqlx::query("INSERT INTO invitation (hash, role, author, created, expires, used) VALUES ($1, $2, $3, $4, $5, 0)")
                .bind(secret::hash(&secret)).bind(role.word()).bind(author).bind(created).bind(expires).execute(&mut *tx).await?;
            note!(tx, author, "invite", role.word(), "a link that works once")?;
            tx.commit().await?;
        });
        Ok(secret)
    }

    /// The role a link's secret lets in with, while it is valid.
    ///
    /// # Errors
    /// [`Trouble::Missing`] when it never was, was used, or has ended.
    pub async fn invitation(&self, secret: &str) -> Result<Role, Trouble> {
        let sql = sqlx::AssertSqlSafe(format!("SELECT role FROM invitation WHERE hash = $1 AND used = 0 AND expires > $2 AND {STANDS}"));
        let (role,): (String,) =
            on!(self, pool => sqlx::query_as(sql).bind(secret::hash(secret)).bind(crate::now()).fetch_one(pool).await?);
        Role::stored(&role)
    }

    /// Uses a link up and makes its person.
    ///
    /// # Errors
    /// [`Trouble::Missing`] as [`Store::invitation`]; [`Trouble::Refused`] when the name is taken, and the link still works.
    pub async fn accept(&self, invitation: &str, name: &str, password: &str) -> Result<Person, Trouble> {
        let (hash, at, id) = (secret::hash(invitation), crate::now(), secret::id());
        let role: Role = on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let take = format!("UPDATE invitation SET used = 1 WHERE hash = $1 AND used = 0 AND expires > $2 AND {STANDS} RETURNING role");
            let (role,): (String,) = sqlx::query_as(sqlx::AssertSqlSafe(take)).bind(&hash).bind(at).fetch_one(&mut *tx).await?;
            let add = "INSERT INTO person (id, name, role, password, disabled, created) VALUES ($1, $2, $3, $4, 0, $5)";
            sqlx::query(add).bind(&id).bind(name).bind(&role).bind(password).bind(at).execute(&mut *tx).await
                .map_err(|e| Trouble::unique(e, || format!("the name `{name}` is taken")))?;
            note!(tx, name, "join", name, format!("as {role}"))?;
            tx.commit().await?;
            Role::stored(&role)?
        });
        Ok(Person { id, name: name.to_owned(), role, password: password.to_owned(), disabled: false, created: at })
    }

    /// A person by name.
    ///
    /// # Errors
    /// [`Trouble::Missing`].
    pub async fn person_named(&self, name: &str) -> Result<Person, Trouble> {
        // One of the databases does not even take it as a text to look for.
        if name.contains('\0') {
            return Err(Trouble::Missing);
        }
        let text = sqlx::AssertSqlSafe(format!("SELECT {PERSON} FROM person WHERE name = $1"));
        person(on!(self, pool => sqlx::query_as(text).bind(name).fetch_one(pool).await?))
    }

    /// A person by identity.
    ///
    /// # Errors
    /// [`Trouble::Missing`].
    pub async fn person(&self, id: &str) -> Result<Person, Trouble> {
        let text = sqlx::AssertSqlSafe(format!("SELECT {PERSON} FROM person WHERE id = $1"));
        person(on!(self, pool => sqlx::query_as(text).bind(id).fetch_one(pool).await?))
    }

    /// Everybody, by name.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn people(&self) -> Result<Vec<Person>, Trouble> {
        let text = sqlx::AssertSqlSafe(format!("SELECT {PERSON} FROM person ORDER BY name"));
        let rows: Vec<PersonRow> = on!(self, pool => sqlx::query_as(text).fetch_all(pool).await?);
        rows.into_iter().map(person).collect()
    }

    /// Gives a person another role, or refuses or allows signing in. The last administrator who may sign in stays one.
    ///
    /// # Errors
    /// [`Trouble::Missing`]; [`Trouble::Refused`] for the last administrator.
    pub async fn change_person(&self, id: &str, role: Role, disabled: bool, author: &str) -> Result<(), Trouble> {
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            // Two administrators may be at it at once, each with the other: the second waits here for the first.
            sqlx::query("UPDATE person SET role = role WHERE role = $1").bind(Role::Administrator.word()).execute(&mut *tx).await?;
            let (name,): (String,) = sqlx::query_as("UPDATE person SET role = $1, disabled = $2 WHERE id = $3 RETURNING name")
                .bind(role.word()).bind(i64::from(disabled)).bind(id).fetch_one(&mut *tx).await?;
            let (left,): (i64,) = sqlx::query_as("SELECT COUNT(*) FROM person WHERE role = $1 AND disabled = 0")
                .bind(Role::Administrator.word()).fetch_one(&mut *tx).await?;
            if left == 0 {
                return Err(Trouble::Refused(format!("`{name}` is the last administrator; make another one first")));
            }
            let detail = format!("{}{}", role.word(), if disabled { ", may not sign in" } else { "" });
            note!(tx, author, "change person", name, detail)?;
            tx.commit().await?;
        });
        Ok(())
    }

    /// Gives a person another password.
    ///
    /// # Errors
    /// [`Trouble::Missing`].
    pub async fn change_password(&self, id: &str, password: &str, author: &str) -> Result<(), Trouble> {
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let (name,): (String,) = sqlx::query_as("UPDATE person SET password = $1 WHERE id = $2 RETURNING name")
                .bind(password).bind(id).fetch_one(&mut *tx).await?;
            note!(tx, author, "change password", name, "")?;
            tx.commit().await?;
        });
        Ok(())
    }

    /// Makes a token for a person; its secret is returned once and never kept.
    ///
    /// # Errors
    /// [`Trouble::Refused`] when the role is above the person's; [`Trouble::Missing`].
    pub async fn make_token(&self, person: &Person, label: &str, role: Role, expires: Stamp) -> Result<String, Trouble> {
        if role > person.role {
            return Err(Trouble::Refused(format!("a token of `{}` can be at most {}", person.name, person.role.word())));
        }
        let (secret, id) = (secret::secret(), secret::id());
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let add = "INSERT INTO token (id, hash, person, label, role, created, expires, revoked) VALUES ($1, $2, $3, $4, $5, $6, $7, 0)";
            sqlx::query(add).bind(&id).bind(secret::hash(&secret)).bind(&person.id).bind(label).bind(role.word()).bind(crate::now()).bind(expires)
                .execute(&mut *tx).await?;
            note!(tx, &person.name, "make token", label, role.word())?;
            tx.commit().await?;
        });
        Ok(secret)
    }

    /// The person a token's secret acts for, with the token's role or the person's if that is less now.
    ///
    /// # Errors
    /// [`Trouble::Missing`] when there is none, it has ended, was taken back, or the person may not sign in.
    pub async fn person_of_token(&self, secret: &str) -> Result<Person, Trouble> {
        let sql = "SELECT t.person, t.role FROM token t WHERE t.hash = $1 AND t.revoked = 0 AND t.expires > $2";
        let row: (String, String) =
            on!(self, pool => sqlx::query_as(sql).bind(secret::hash(secret)).bind(crate::now()).fetch_one(pool).await?);
        let mut person = self.person(&row.0).await?;
        if person.disabled {
            return Err(Trouble::Missing);
        }
        person.role = person.role.min(Role::stored(&row.1)?);
        Ok(person)
    }

    /// All tokens, newest first; of one person if given.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn tokens(&self, of: Option<&str>) -> Result<Vec<Token>, Trouble> {
        let sql = "SELECT t.id, p.name, t.label, t.role, t.created, t.expires, t.revoked FROM token t JOIN person p ON p.id = t.person \
            WHERE $1 = '' OR t.person = $1 ORDER BY t.created DESC, t.id";
        type Row = (String, String, String, String, i64, i64, i64);
        let rows: Vec<Row> = on!(self, pool => sqlx::query_as(sql).bind(of.unwrap_or_default()).fetch_all(pool).await?);
        let token = |(id, person, label, role, created, expires, revoked): Row| {
            Ok(Token { id, person, label, role: Role::stored(&role)?, created, expires, revoked: revoked != 0 })
        };
        rows.into_iter().map(token).collect()
    }

    /// Takes a token back; `of` limits it to one person's tokens.
    ///
    /// # Errors
    /// [`Trouble::Missing`].
    pub async fn revoke_token(&self, id: &str, of: Option<&str>, author: &str) -> Result<(), Trouble> {
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let (label,): (String,) = sqlx::query_as("UPDATE token SET revoked = 1 WHERE id = $1 AND ($2 = '' OR person = $2) RETURNING label")
                .bind(id).bind(of.unwrap_or_default()).fetch_one(&mut *tx).await?;
            note!(tx, author, "revoke token", label, "")?;
            tx.commit().await?;
        });
        Ok(())
    }
}
