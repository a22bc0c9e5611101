//! How a room is run.

use std::net::SocketAddr;

/// How a room is run.
#[derive(Clone, Debug)]
pub struct Config {
    /// Where it listens; loopback unless somebody says otherwise.
    pub listen: SocketAddr,
    /// Where things are kept: the path of a file, or `postgres://…`.
    pub store: String,
    /// Plans made at once in this process; 0 leaves all planning to workers elsewhere.
    pub planners: usize,
    /// Threads of one plan.
    pub threads: usize,
    /// Whether browsers reach it by HTTPS only (a proxy in front ends it): the session cookie is then never sent in the clear.
    pub https: bool,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            listen: SocketAddr::from(([127, 0, 0, 1], 8470)),
            store: "evenline.db".to_owned(),
            planners: 1,
            threads: std::thread::available_parallelism().map_or(1, usize::from),
            https: false,
        }
    }
}
