//! What a chart is drawn for.

/// What a chart is drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Inside a page, whose style sheet knows the classes: light and dark alike.
    Page,
    /// By itself: colours, type and paper are written into it.
    File,
    /// On a printed sheet, by itself too: no paper of its own, and lower.
    Sheet,
}

impl Look {
    /// Size of the type, drawing units. On a sheet two charts share a line, and its small print is 9.5 points.
    pub(crate) fn type_size(self) -> f64 {
        match self {
            Look::Page | Look::File => 11.0,
            Look::Sheet => 15.0,
        }
    }

    /// Drawing units from top to bottom, without what stands above and below the chart.
    pub(crate) fn height(self) -> f64 {
        match self {
            Look::Page | Look::File => 178.0,
            Look::Sheet => 160.0,
        }
    }

    /// The style that a chart carries with it; none on a page.
    pub(crate) fn style(self) -> String {
        match self {
            Look::Page => String::new(),
            Look::File | Look::Sheet => {
                format!("<style>text{{font-size:{}px}}{STYLE}</style>", self.type_size())
            }
        }
    }
}

/// The page's colours on paper; the type is the one that is built in, or what the reader has like it.
const STYLE: &str = "\
text{font-family:'Source Sans 3','Liberation Sans',Arial,sans-serif;fill:#565f66}\
.title{font-size:15px;font-weight:600;fill:#1b2024}\
.paper{fill:#fbf9f4}\
.band{fill:#efeade;stroke:#cfc9bb;stroke-width:.5}\
.rule{stroke:#cfc9bb;stroke-width:.75;stroke-dasharray:1 4}\
.axis{stroke:#565f66;stroke-width:1}\
.most{fill:#17506b;fill-opacity:.16}.half{fill:#17506b;fill-opacity:.28}\
.middle{fill:none;stroke:#17506b;stroke-width:1.5}.ahead{stroke-dasharray:5 3}\
.now{stroke:#1b2024;stroke-width:1}\
.deed{stroke:#1b2024;stroke-width:.75;stroke-dasharray:2 3}\
.whisker{stroke:#1b2024;stroke-width:1}\
.read{fill:#fbf9f4;stroke:#1b2024;stroke-width:1.25}\
.limit{fill:none;stroke:#1b2024;stroke-width:1.25}";
