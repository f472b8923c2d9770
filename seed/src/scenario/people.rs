//! Who is at the school, and in what. All invented.

use crate::plan::{
    AdjustmentPlan, AssignmentPlan, CoursePlan, EnrolmentPlan, Moment, PersonPlan, Role, SchoolPlan,
};

/// The school.
pub const SCHOOL: SchoolPlan = SchoolPlan {
    slug: "lamplighter",
    name: "Lamplighter Yard",
    time_zone: "Europe/Vienna",
    invented: true,
    notice: "Lamplighter Yard does not exist. School, people, shots and words were made up to show what Refrain does.",
};

const MENTORS: [(&str, &str); 2] = [("maren", "Maren Tolvik"), ("anwil", "Josef Anwil")];

const STUDENTS: [(&str, &str); 12] = [
    ("imre", "Imre Valko"),
    ("sunniva", "Sunniva Reyl"),
    ("tobi", "Tobi Okandel"),
    ("lisbet", "Lisbet Quorn"),
    ("renzo", "Renzo Halvarin"),
    ("amara", "Amara Tiplin"),
    ("yusra", "Yusra Pellam"),
    ("dov", "Dov Castelan"),
    ("hanne", "Hanne Wirtosei"),
    ("kitto", "Kitto Brandl"),
    ("pia", "Pia Marroby"),
    ("emeka", "Emeka Storrin"),
];

macro_rules! person {
    ($key:expr, $name:expr, $role:expr, [$($k:literal => $mail:literal),* $(,)?]) => {
        match $key {
            $($k => Some(PersonPlan { key: $k, name: $name, email: concat!($mail, "@lamplighter.example"), role: $role }),)*
            _ => None,
        }
    };
}

fn with_address(key: &str, name: &'static str, role: Role) -> Option<PersonPlan> {
    person!(key, name, role, [
        "maren" => "maren", "anwil" => "josef", "odalys" => "office",
        "imre" => "imre", "sunniva" => "sunniva", "tobi" => "tobi", "lisbet" => "lisbet", "renzo" => "renzo", "amara" => "amara",
        "yusra" => "yusra", "dov" => "dov", "hanne" => "hanne", "kitto" => "kitto", "pia" => "pia", "emeka" => "emeka",
    ])
}

/// Mentors first, then the office, then students.
pub fn everybody() -> Vec<PersonPlan> {
    let mentors = MENTORS.iter().map(|&(k, n)| (k, n, Role::Mentor));
    let office = [("odalys", "Odalys Brenk", Role::Office)];
    let students = STUDENTS.iter().map(|&(k, n)| (k, n, Role::Student));
    mentors
        .chain(office)
        .chain(students)
        .filter_map(|(k, n, r)| with_address(k, n, r))
        .collect()
}

/// The three courses.
pub fn courses() -> Vec<CoursePlan> {
    vec![
        CoursePlan {
            key: "weight",
            name: "Weight and Contact",
            brief: "Bodies that weigh something, on ground that pushes back. Short silent shots, one figure, camera locked off. Bring a shot back as often as it needs; the count is yours to spend.",
            granted: 16,
            promise_days: 14,
            assignments: vec![
                AssignmentPlan {
                    key: "drop",
                    title: "Down from a height",
                    brief: "One figure gets down from something waist-high or better. Show me the decision, the air and what the ground does to the knees. Four to six seconds.",
                },
                AssignmentPlan {
                    key: "heavy",
                    title: "Too heavy",
                    brief: "Pick up a thing that is nearly more than the figure can manage. I want to believe the number of kilos without being told it.",
                },
                AssignmentPlan {
                    key: "seat",
                    title: "Take a seat",
                    brief: "From standing to sitting, with a reason. The moment the seat takes the weight is the shot.",
                },
            ],
        },
        CoursePlan {
            key: "timing",
            name: "Timing and Spacing",
            brief: "Where the drawings fall between the poses, and how long a pose is allowed to live. Pantomime exercises on plain sets.",
            granted: 16,
            promise_days: 10,
            assignments: vec![
                AssignmentPlan {
                    key: "stop",
                    title: "Walk and stop",
                    brief: "Into the picture, a few steps, a stop that costs something. No turn at the end: the stop has to hold us.",
                },
                AssignmentPlan {
                    key: "throw",
                    title: "Throw",
                    brief: "A ball leaves the picture. Everything before the release is a promise, everything after it the bill.",
                },
                AssignmentPlan {
                    key: "creep",
                    title: "Nobody must hear",
                    brief: "Past a door, quietly. Vary the rhythm: if all steps last as long, somebody will hear.",
                },
            ],
        },
        CoursePlan {
            key: "acting",
            name: "Thinking Figures",
            brief: "A change of mind without a word said. Eyes before head, head before feet, thought before all of them.",
            granted: 12,
            promise_days: 14,
            assignments: vec![
                AssignmentPlan {
                    key: "turn",
                    title: "Somebody is there",
                    brief: "A sound, a turn, a take. Decide what the figure believed before and what it believes after.",
                },
                AssignmentPlan {
                    key: "wait",
                    title: "Waiting",
                    brief: "A greeting that is not answered, then time passes. Keep the figure alive without fidgeting.",
                },
            ],
        },
    ]
}

fn enrolled(
    student: &'static str,
    mentor: &'static str,
    course: &'static str,
    days: u16,
) -> EnrolmentPlan {
    EnrolmentPlan {
        student,
        mentor,
        course,
        starts: Moment::new(days, 9, 0),
        adjustments: Vec::new(),
    }
}

/// Who is in which course.
pub fn enrolments() -> Vec<EnrolmentPlan> {
    let mut all = vec![
        enrolled("imre", "maren", "weight", 352),
        enrolled("sunniva", "maren", "weight", 318),
        enrolled("sunniva", "anwil", "timing", 140),
        enrolled("tobi", "anwil", "timing", 337),
        enrolled("lisbet", "maren", "weight", 301),
        enrolled("lisbet", "anwil", "acting", 126),
        enrolled("renzo", "anwil", "acting", 284),
        enrolled("renzo", "anwil", "timing", 90),
        enrolled("amara", "maren", "weight", 241),
        enrolled("amara", "anwil", "timing", 77),
        enrolled("yusra", "anwil", "timing", 226),
        enrolled("dov", "anwil", "acting", 198),
        enrolled("dov", "anwil", "timing", 104),
        enrolled("hanne", "anwil", "acting", 176),
        enrolled("hanne", "maren", "weight", 69),
        enrolled("kitto", "anwil", "timing", 112),
        enrolled("pia", "maren", "weight", 154),
        enrolled("emeka", "maren", "weight", 16),
    ];
    let mut adjust =
        |student: &str, course: &str, amount: i32, reason: &'static str, at: Moment| {
            if let Some(e) = all
                .iter_mut()
                .find(|e| e.student == student && e.course == course)
            {
                e.adjustments.push(AdjustmentPlan { amount, reason, at });
            }
        };
    adjust(
        "lisbet",
        "weight",
        2,
        "Two more for the weeks the render farm was down",
        Moment::new(205, 10, 20),
    );
    adjust(
        "tobi",
        "timing",
        -1,
        "Sent twice by mistake in the first week and agreed to call it one",
        Moment::new(310, 16, 5),
    );
    adjust(
        "yusra",
        "timing",
        1,
        "Thanks for the talk at the open evening",
        Moment::new(88, 12, 0),
    );
    all
}
