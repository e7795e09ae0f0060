use serde::Serialize;

/// Sites per visit, zone by zone; in one zone there is one number. In JSON two keys: `sites`, the number that all zones
/// of the row share (`null` where they differ), and `sites_in_zones`, the list in the order of the zones.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SiteCount {
    sites: Option<usize>,
    sites_in_zones: Vec<usize>,
}

impl SiteCount {
    pub fn new(in_zones: Vec<usize>) -> Self {
        let first = in_zones.first().copied();
        let shared = first.filter(|first| in_zones.iter().all(|sites| sites == first));
        Self { sites: shared, sites_in_zones: in_zones }
    }

    /// The number that all zones share.
    pub fn shared(&self) -> Option<usize> {
        self.sites
    }

    pub fn in_zones(&self) -> &[usize] {
        &self.sites_in_zones
    }

    pub fn fewest(&self) -> usize {
        self.sites_in_zones.iter().copied().min().unwrap_or(0)
    }

    pub fn most(&self) -> usize {
        self.sites_in_zones.iter().copied().max().unwrap_or(0)
    }

    pub fn total(&self) -> usize {
        self.sites_in_zones.iter().sum()
    }

    /// "14", or "12-14" where zones differ.
    pub fn span(&self) -> String {
        match self.shared() {
            Some(sites) => sites.to_string(),
            None => format!("{}-{}", self.fewest(), self.most()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zones_that_differ_have_no_number_in_common() {
        let alike = SiteCount::new(vec![14, 14, 14]);
        assert_eq!((alike.shared(), alike.span(), alike.total()), (Some(14), "14".to_owned(), 42));
        let differ = SiteCount::new(vec![12, 20, 14]);
        assert_eq!((differ.shared(), differ.span(), differ.total()), (None, "12-20".to_owned(), 46));
        let json = serde_json::to_value(&differ).unwrap();
        assert_eq!(json, serde_json::json!({ "sites": null, "sites_in_zones": [12, 20, 14] }));
    }
}
