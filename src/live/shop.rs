//! What the page's questions are asked of: the fuels, the builds asked for lately, the pages made for a customer.

use super::base::{Base, SAMPLES, SEED};
use super::edit::checked;
use super::refusal::Refusal;
use super::setting::Setting;
use crate::estimate::Job;
use crate::fuel::FuelLibrary;
use crate::report::Units;
use crate::scenario::Scenario;
use serde::Deserialize;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Builds kept, so that a slider need not read its scenario anew: two side by side, and where they were before.
const KEPT_BUILDS: usize = 4;
/// Pages for a customer kept.
const KEPT_PAGES: usize = 8;

/// A build as the page holds it: nothing of it is kept here.
#[derive(Clone, Debug, Deserialize)]
pub struct Asked {
    /// Text of its scenario.
    pub text: String,
    /// What was moved, as a query.
    #[serde(default)]
    pub moved: String,
    /// Whether US units are shown.
    #[serde(default)]
    pub us: bool,
}

impl Asked {
    /// Units to show.
    pub fn units(&self) -> Units {
        if self.us { Units::Us } else { Units::Metric }
    }
}

/// All that the questions share.
#[derive(Debug)]
pub struct Shop {
    /// Fuels that may be named.
    pub(super) library: FuelLibrary,
    builds: Mutex<VecDeque<(String, Arc<Base>)>>,
    pages: Mutex<(u64, VecDeque<(u64, String)>)>,
}

fn locked<T>(kept: &Mutex<T>) -> MutexGuard<'_, T> {
    kept.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The build of a text, kept as the one used last.
fn used_again(builds: &mut VecDeque<(String, Arc<Base>)>, text: &str) -> Option<Arc<Base>> {
    let at = builds.iter().position(|(kept, _)| kept == text)?;
    let build = builds.remove(at)?;
    let base = Arc::clone(&build.1);
    builds.push_front(build);
    Some(base)
}

impl Shop {
    /// A shop with some fuels.
    pub fn new(library: FuelLibrary) -> Self {
        Self { library, builds: Mutex::default(), pages: Mutex::default() }
    }

    /// The build of a text.
    ///
    /// # Errors
    /// [`Refusal`] when the text holds mistakes.
    pub(super) fn base(&self, text: &str) -> Result<Arc<Base>, Refusal> {
        if let Some(base) = used_again(&mut locked(&self.builds), text) {
            return Ok(base);
        }
        let scenario = checked(text, &self.library).map_err(|problems| {
            let said: Vec<String> = problems.into_iter().map(|problem| problem.message).collect();
            Refusal::whole(said.join("; "))
        })?;
        let base = Arc::new(Base::new(scenario, text, self.library.clone())?);
        let mut builds = locked(&self.builds);
        builds.push_front((text.to_owned(), Arc::clone(&base)));
        builds.truncate(KEPT_BUILDS);
        Ok(base)
    }

    /// The text of the scenario that a build makes with what was moved.
    ///
    /// # Errors
    /// [`Refusal`] when it holds mistakes, or no scenario can say it.
    pub(super) fn text(&self, asked: &Asked) -> Result<String, Refusal> {
        let setting = Setting::read(&asked.moved)?;
        let base = self.base(&asked.text)?;
        if setting == Setting::default() { Ok(asked.text.clone()) } else { base.scenario_text(&setting) }
    }

    /// The same as read, with its estimate on its own fuels.
    ///
    /// # Errors
    /// [`Refusal`] when it holds mistakes.
    pub(super) fn job(&self, asked: &Asked) -> Result<(Scenario, Job), Refusal> {
        let text = self.text(asked)?;
        let scenario = self.base(&text)?.scenario.clone();
        let job = scenario.job(&self.library, SAMPLES, SEED).map_err(Refusal::whole)?;
        Ok((scenario, job))
    }

    /// Keeps a page for a customer; returns its number.
    pub(super) fn keep_page(&self, page: String) -> u64 {
        let mut pages = locked(&self.pages);
        pages.0 += 1;
        let number = pages.0;
        pages.1.push_front((number, page));
        pages.1.truncate(KEPT_PAGES);
        number
    }

    /// A page that was kept.
    pub(super) fn page(&self, number: u64) -> Option<String> {
        locked(&self.pages).1.iter().find(|(kept, _)| *kept == number).map(|(_, page)| page.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::DEMO;

    #[test]
    fn the_build_used_last_is_kept_longest() {
        let shop = Shop::new(FuelLibrary::shipped().unwrap());
        let text = |n: usize| format!("{DEMO}\n# {n}\n");
        let first = shop.base(&text(0)).unwrap();
        for n in 1..KEPT_BUILDS {
            shop.base(&text(n)).unwrap();
        }
        assert!(Arc::ptr_eq(&first, &shop.base(&text(0)).unwrap()));
        shop.base(&text(KEPT_BUILDS)).unwrap();
        assert!(Arc::ptr_eq(&first, &shop.base(&text(0)).unwrap()), "used but now, and dropped");
        assert!(!locked(&shop.builds).iter().any(|(kept, _)| *kept == text(1)), "used longest ago, and kept");
    }
}
