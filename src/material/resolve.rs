//! The material of one piece: sizes, laws and yarn of its stitches.

use super::MaterialError;
use super::fibre::Fibre;
use super::gauge::{Anchor, GaugeInput, GaugeOver, check_agreement};
use super::preset::{PresetOverride, Presets, preset};
use super::relative::Relative;
use super::worked::{Texture, Worked, post_key};
use super::yarn::{YarnInput, least_diameter};
use crate::stitches::Craft;
use crate::stitches::LoopTaken;
use crate::stitches::Post;
use crate::stitches::StitchKind;
use crate::units::Length;
use crate::units::Mass;

/// Everything stated about a piece's material.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialInput {
    /// Crochet or knit.
    pub craft: Craft,
    /// Gauges; with none, the yarn class's default is taken and said to be assumed.
    pub gauges: Vec<GaugeInput>,
    /// The yarn.
    pub yarn: YarnInput,
    /// Values that replace presets.
    pub overrides: Vec<PresetOverride>,
    /// Ground of knitted stitches asked for without one; ignored for crochet.
    pub texture: Texture,
    /// State of the fabric the gauges were taken in.
    pub state: GaugedIn,
}

/// State of a fabric whose sizes are stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GaugedIn {
    /// As it left the hook or needles.
    Worked,
    /// Washed and dried without pins.
    #[default]
    Washed,
    /// Pinned out and dried.
    Blocked,
}

impl MaterialInput {
    /// Nothing stated but the craft.
    pub fn of(craft: Craft) -> Self {
        Self {
            craft,
            gauges: Vec::new(),
            yarn: YarnInput::default(),
            overrides: Vec::new(),
            texture: Texture::Stockinette,
            state: GaugedIn::default(),
        }
    }
}

/// In-plane law of a stitch's cell: orthotropic, axis 1 along the rows, axis 2 up the columns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MembraneLaw {
    /// Modulus along the rows, N/m.
    pub e1: f64,
    /// Modulus up the columns, N/m.
    pub e2: f64,
    /// Contraction up the columns per stretch along the rows.
    pub nu12: f64,
    /// Shear modulus, N/m.
    pub g: f64,
    /// Share of the modulus left under squeeze, in (0, 1].
    pub squeeze: f64,
    /// Strains along the rows and up the columns at which pulled loops lock.
    pub locking: [f64; 2],
}

/// Law of a strand: rest length = (1 + `tightness`) x the length it would have beside stress-free
/// cells, and a force per strain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrandLaw {
    /// Strain of the rest length; negative is tighter than the fabric beside it.
    pub tightness: f64,
    /// Force per unit strain, N; never zero.
    pub stiffness: f64,
}

/// Strands that are no side of a plain cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EdgeStrand {
    /// Foundation chain of crochet.
    FoundationChain,
    /// Chain under foundation stitches, made together with them.
    FoundationStitches,
    /// Cast-on edge of knitting.
    CastOn,
    /// Bound-off edge.
    BindOff,
    /// End of a row.
    RowEnd,
    /// Turning chain that stands beside its row and is no stitch.
    TurningChain,
    /// Chain run over a space.
    Chain,
    /// A leg that makes no cell: post stitches, wraps.
    Tie,
}

/// Resolved material of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    pub(super) craft: Craft,
    pub(super) texture: Texture,
    pub(super) state: GaugedIn,
    pub(super) presets: Presets,
    pub(super) anchors: Vec<Anchor>,
    pub(super) yarn: YarnInput,
    /// Unit width by the yarn class, in force when no gauge was stated.
    pub(super) class_unit: Length,
}

impl Material {
    /// Checks and reduces everything stated.
    ///
    /// # Errors
    /// A count or length that cannot be, gauges that contradict each other, a knit stitch narrower
    /// than four yarn diameters, an unknown or impossible preset.
    pub fn resolve(input: &MaterialInput) -> Result<Self, MaterialError> {
        input.yarn.check()?;
        let presets = Presets::with(&input.overrides)?;
        let anchors = input
            .gauges
            .iter()
            .filter(|gauge| gauge.stitches.is_some() || gauge.rows.is_some())
            .map(|gauge| Anchor::read(gauge, &presets, input.craft))
            .collect::<Result<Vec<_>, _>>()?;
        check_agreement(&anchors, &presets, input.craft)?;
        let class = input.yarn.resolved_class().0;
        let column = match input.craft {
            Craft::Crochet => "single_crochet",
            Craft::Knit => "stockinette",
        };
        let class_unit = Length::inches(4.0) / presets.value(&class.key(column));
        let (craft, texture, yarn, state) = (input.craft, input.texture, input.yarn, input.state);
        let material = Self { craft, texture, state, presets, anchors, yarn, class_unit };
        material.check_jam()?;
        Ok(material)
    }

    /// Loops of round yarn jam at a width of four diameters and a height of 3.364 (Peirce, Text. Res. J. 17 (1947) 123,
    /// from memory).
    fn check_jam(&self) -> Result<(), MaterialError> {
        let (Craft::Knit, Some(tex), false) = (self.craft, self.yarn.tex, self.anchors.is_empty())
        else {
            return Ok(());
        };
        let stitch = Worked::plain(StitchKind::Knit { purl: false, twisted: false });
        let width = self.width_of(stitch);
        let diameter = least_diameter(tex, self.yarn.fibre, &self.presets);
        if width < diameter * 4.0 {
            return Err(MaterialError::StitchNarrowerThanYarn { width, diameter, tex });
        }
        let rows = |a: &Anchor| a.up.is_some() && a.stated.over == GaugeOver::Stitch(stitch);
        let height = self.height_of(stitch);
        if self.anchors.iter().any(rows) && height < diameter * 3.364 {
            return Err(MaterialError::RowLowerThanYarn { height, diameter, tex });
        }
        Ok(())
    }

    /// Crochet or knit.
    pub fn craft(&self) -> Craft {
        self.craft
    }

    /// Rest width along the row of a stitch, or of one link of a chain, on the piece's own ground.
    pub fn width(&self, kind: StitchKind, taken: LoopTaken) -> Length {
        self.width_of(Worked { kind, taken, texture: self.texture })
    }

    /// Rest height of a stitch on the piece's own ground; zero for a cast-on loop.
    pub fn height(&self, kind: StitchKind, taken: LoopTaken) -> Length {
        self.height_of(Worked { kind, taken, texture: self.texture })
    }

    /// Rest width of a stitch as it sits in its fabric.
    pub fn width_of(&self, worked: Worked) -> Length {
        self.unit_along(worked) * self.relative(worked).width
    }

    /// Rest height of a stitch as it sits in its fabric.
    pub fn height_of(&self, worked: Worked) -> Length {
        self.unit_up(worked) * self.relative(worked).height
    }

    /// Sideways offset of a top from its base, in the working direction. In rows that are turned it
    /// alternates; in rounds worked the same way it adds up.
    pub fn lean(&self, kind: StitchKind, taken: LoopTaken, turned: bool) -> Length {
        let worked = Worked { kind, taken, texture: self.texture };
        let share = match (worked.craft(), turned) {
            (Craft::Knit, _) => self.presets.value("knit.lean"),
            (Craft::Crochet, true) => self.presets.value("crochet.lean_turned"),
            (Craft::Crochet, false) => self.presets.value("crochet.lean_round"),
        };
        self.width_of(worked) * share
    }

    /// In-plane law of the cell under a stitch.
    pub fn membrane(&self, worked: Worked) -> MembraneLaw {
        let craft = match worked.craft() {
            Craft::Crochet => "crochet",
            Craft::Knit => "knit",
        };
        let value = |name: &str| self.presets.value(&format!("{craft}.membrane.{name}"));
        let softer = match (worked.craft(), worked.taken, worked.texture) {
            (Craft::Knit, _, Texture::Garter) => self.presets.value("knit.garter_softer"),
            (Craft::Knit, ..) | (_, LoopTaken::Both, _) => 1.0,
            _ => self.presets.value("crochet.one_loop_softer"),
        };
        MembraneLaw {
            e1: value("e1"),
            e2: value("e2") * softer,
            nu12: value("nu12"),
            g: value("g"),
            squeeze: value("squeeze"),
            locking: self.locking(worked),
        }
    }

    /// Strains along the rows and up the columns at which the loops lock.
    ///
    /// A length locks, whatever state it starts from: with `1 + L` the locked over the washed length, a
    /// fabric whose own length is `1 + s` of the washed one has `(1 + L)/(1 + s) - 1` left. Ridges and
    /// ribs first open to plain stockinette, whose width and height the presets give.
    fn locking(&self, worked: Worked) -> [f64; 2] {
        let (group, opened) = match worked.craft() {
            Craft::Crochet => ("crochet", [1.0; 2]),
            Craft::Knit => {
                let plain = self.presets.texture(Texture::Stockinette);
                let own = self.presets.texture(worked.texture);
                ("knit", [plain.width / own.width, plain.height / own.height].map(|o| o.max(1.0)))
            }
        };
        let longer = self.state_key().map_or(0.0, |key| self.presets.value(key));
        let strain = |way: &str| self.presets.value(&format!("{group}.locking.{way}"));
        let left = |strain: f64, opened: f64| (1.0 + strain) * opened / (1.0 + longer) - 1.0;
        [left(strain("along"), opened[0]), left(strain("up"), opened[1])]
    }

    /// Key of the share by which the state of the gauge is longer than washed.
    fn state_key(&self) -> Option<&'static str> {
        match self.state {
            GaugedIn::Worked => Some("locking.worked"),
            GaugedIn::Washed => None,
            GaugedIn::Blocked => Some("locking.blocked"),
        }
    }

    /// Keys of the presets that decide where loops lock.
    pub(super) fn locking_keys(&self) -> Vec<String> {
        let group = match self.craft {
            Craft::Crochet => "crochet",
            Craft::Knit => "knit",
        };
        let mut keys = ["along", "up"].map(|way| format!("{group}.locking.{way}")).to_vec();
        keys.extend(self.state_key().map(str::to_owned));
        keys
    }

    /// Rigidity (N m) of bending the rows and the columns around a stitch.
    pub fn bending(&self, worked: Worked) -> [f64; 2] {
        let craft = match worked.craft() {
            Craft::Crochet => "crochet",
            Craft::Knit => "knit",
        };
        ["along", "up"].map(|way| self.presets.value(&format!("{craft}.bending.{way}")))
    }

    /// Rigidity of twisting, as a share of twice the geometric mean of the two of bending.
    pub fn twist(&self) -> f64 {
        self.presets.value("bending.twist")
    }

    /// The growth law's free constants: growth per tenfold time as a share of the first, and the time
    /// (h) from which it counts.
    pub fn creep(&self) -> [f64; 2] {
        ["hang.creep", "hang.creep_start"].map(|key| self.presets.value(key))
    }

    /// Coefficient of friction of the fabric on a table.
    pub fn friction(&self) -> f64 {
        self.presets.value("table.friction")
    }

    /// Share of the membrane's stiffness that an open cell (over chains or a yarn-over) keeps.
    pub fn open_share(&self) -> f64 {
        self.presets.value("membrane.open_share")
    }

    /// Share of an open cell's stiffness along the row that one under an arched loop keeps until the loop is
    /// straight.
    pub fn arch_share(&self) -> f64 {
        self.presets.value("membrane.arch_share")
    }

    /// How a strand that is no side of a plain cell behaves.
    pub fn strand(&self, strand: EdgeStrand) -> StrandLaw {
        let value = |key: &str| self.presets.value(&format!("strand.{key}"));
        let both = |key: &str| StrandLaw {
            tightness: value(key),
            stiffness: value(&format!("{key}_stiffness")),
        };
        match strand {
            EdgeStrand::FoundationChain => both("foundation_chain"),
            EdgeStrand::FoundationStitches => both("foundation_stitches"),
            EdgeStrand::CastOn => both("cast_on"),
            EdgeStrand::BindOff => both("bind_off"),
            EdgeStrand::RowEnd => both("edge"),
            EdgeStrand::TurningChain => both("turning_chain"),
            EdgeStrand::Chain => StrandLaw { tightness: 0.0, stiffness: value("chain_stiffness") },
            EdgeStrand::Tie => StrandLaw { tightness: 0.0, stiffness: value("tie_stiffness") },
        }
    }

    /// How far a selvage run beside shaping leans with the body: 0 rectangular, 1 fully.
    pub fn selvage_lean(&self) -> f64 {
        self.presets.value("selvage.lean")
    }

    /// Longest selvage run, in stitches, that leans with the body.
    pub fn selvage_run(&self) -> u32 {
        self.presets.value("selvage.run").round() as u32
    }

    /// Yarn in one stitch, or in one link of a chain.
    pub fn yarn_length(&self, kind: StitchKind, taken: LoopTaken) -> Length {
        self.yarn_of(Worked { kind, taken, texture: self.texture })
    }

    /// Yarn in a foundation stitch, its own chain link included.
    pub fn foundation_yarn(&self, worked: Worked) -> Length {
        let value = |name: &str| self.presets.value(&format!("crochet.yarn.{name}"));
        let width = self.width_of(worked);
        match worked.kind {
            StitchKind::Plain(post @ (Post::Single | Post::HalfDouble | Post::Double)) => {
                width * value(&format!("foundation_{}", post_key(post)))
            }
            _ => self.yarn_of(worked) + width * value("foundation_taller"),
        }
    }

    /// Yarn in one stitch as it sits in its fabric. Crochet: the preset's multiple of the width, the
    /// part in the post growing with the row's height. Knitting: loop length l = sqrt(ks w h) of
    /// stockinette (Munden 1959), other grounds by their yarn per area.
    pub fn yarn_of(&self, worked: Worked) -> Length {
        match worked.craft() {
            Craft::Crochet => self.crochet_yarn(worked),
            Craft::Knit => self.knit_yarn(worked),
        }
    }

    fn crochet_yarn(&self, worked: Worked) -> Length {
        let value = |name: &str| self.presets.value(&format!("crochet.yarn.{name}"));
        let further = |legs: u8| f64::from(legs.saturating_sub(1));
        let post = |post: Post| value(post_key(post));
        let multiple = match worked.kind {
            StitchKind::Chain => value("chain"),
            StitchKind::SlipStitch => value("slip"),
            StitchKind::ReverseSingle => value("reverse_single"),
            StitchKind::Plain(p) => post(p),
            StitchKind::Extended(p) => {
                post(p) + self.presets.value("crochet.extension") * value("chain")
            }
            StitchKind::Cluster { post: p, legs } => {
                post(p) * (1.0 + value("further_leg") * further(legs))
            }
            StitchKind::Puff { legs } => {
                post(Post::HalfDouble) * (1.0 + value("further_leg") * further(legs))
            }
            StitchKind::Popcorn { post: p, legs } => post(p) * f64::from(legs) + value("chain"),
            _ => value("single"),
        };
        // Multiples are of the plain post's width: a cluster's swelling is no yarn.
        let width = self.unit_along(worked) * self.post_width(worked);
        // A link lies along the row: it has no post that could be drawn up.
        if worked.kind == StitchKind::Chain {
            return width * multiple;
        }
        let taller = self.unit_up(worked) / self.unit_along(worked) - 1.0;
        width * multiple * (1.0 + value("post_share") * taller)
    }

    fn post_width(&self, worked: Worked) -> f64 {
        let plain = match worked.kind {
            StitchKind::Cluster { post, .. } | StitchKind::Popcorn { post, .. } => {
                StitchKind::Plain(post)
            }
            StitchKind::Puff { .. } => StitchKind::Plain(Post::HalfDouble),
            other => other,
        };
        self.relative(Worked { kind: plain, ..worked }).width
    }

    fn knit_yarn(&self, worked: Worked) -> Length {
        let own = |name: &str| self.width_of(worked) * self.presets.value(name);
        match worked.kind {
            StitchKind::YarnOver => return own("knit.yarn.yarn_over"),
            StitchKind::Slipped => return own("knit.yarn.slipped"),
            StitchKind::CastOn => return own("knit.yarn.cast_on"),
            StitchKind::BindOff => return own("knit.yarn.bind_off"),
            _ => {}
        }
        let ks = self.presets.value("knit.yarn.ks");
        let plain = self.presets.texture(Texture::Stockinette);
        let (along, up) = (self.unit_along(worked), self.unit_up(worked));
        let (w, h) = (along.to_mm() * plain.width, up.to_mm() * plain.height);
        let loop_mm = (ks * w * h).sqrt();
        if worked.texture == Texture::Stockinette {
            return Length::mm(loop_mm);
        }
        let ratio = self.presets.value(&format!("knit.yarn.{}", worked.texture.key()));
        let area = self.width_of(worked).to_mm() * self.height_of(worked).to_mm();
        Length::mm(ratio * loop_mm / (w * h) * area)
    }

    /// Linear density of the yarn in tex; `None` when neither a ball nor a class was stated.
    pub fn tex(&self) -> Option<f64> {
        self.yarn.tex.or_else(|| self.yarn.class.map(|class| self.presets.value(&class.key("tex"))))
    }

    /// Mass of a length of yarn, when its linear density is known.
    pub fn yarn_mass(&self, length: Length) -> Option<Mass> {
        self.tex().map(|tex| Mass::grams(tex * length.to_m() / 1000.0))
    }

    /// Dry fibre in a mass of this yarn weighed in standard air (20 degrees, 65 % humidity), when its fibre
    /// is known: the rest is water that comes and goes with the air.
    pub fn dry_mass(&self, weighed: Mass, fibre: Option<Fibre>) -> Option<Mass> {
        let fibre = fibre.or(self.yarn.fibre)?;
        Some(super::fibre::dry(weighed, fibre.regain(&self.presets)))
    }

    /// Least and most that hooks or needles for this yarn's class usually measure, and the class.
    pub fn usual_tool(&self) -> Option<(super::YarnClass, [Length; 2])> {
        let (class, stated) = self.yarn.resolved_class();
        let key = class.key(match self.craft {
            Craft::Crochet => "hook",
            Craft::Knit => "needle",
        });
        let entry = preset(&key).filter(|_| stated)?;
        // A designer's own size moves the range with it.
        let factor = self.presets.value(&key) / entry.value;
        Some((class, entry.range.map(|mm| Length::mm(mm * factor))))
    }

    /// Mass per area in g/m2 to take when the yarn's density is not known.
    pub fn areal_mass_default(&self) -> f64 {
        self.presets.value("yarn.areal_mass")
    }

    /// Share to add to the yarn for joins, ends and a swatch.
    pub fn yarn_margin(&self) -> f64 {
        self.presets.value("yarn.margin")
    }

    /// Length to leave at either end of a yarn for weaving in.
    pub fn yarn_tail(&self) -> Length {
        Length::cm(self.presets.value("yarn.tail"))
    }

    /// Usual settings of the maker's hand, with replaced values in their place.
    pub fn hand_settings(&self) -> super::HandSettings {
        let value = |name: &str| self.presets.value(&format!("hand.{name}"));
        super::HandSettings {
            overall: value("overall"),
            drift: value("drift"),
            stitch_noise: value("stitch_noise"),
            correlation: value("correlation"),
            row_noise: value("row_noise"),
        }
    }

    pub(super) fn relative(&self, worked: Worked) -> Relative {
        self.presets.relative(worked, self.craft)
    }

    /// Unit width along the rows that holds for `worked`: by the nearest stitch gauge, else by the
    /// nearest row gauge, else by the yarn class.
    fn unit_along(&self, worked: Worked) -> Length {
        self.nearest(worked, |anchor| anchor.along)
            .or_else(|| self.nearest(worked, |anchor| anchor.up))
            .unwrap_or(self.class_unit)
    }

    /// Unit width up the columns that holds for `worked`; a stated row gauge comes first, because
    /// loop height is the hand's own and does not follow from the width.
    fn unit_up(&self, worked: Worked) -> Length {
        self.nearest(worked, |anchor| anchor.up)
            .or_else(|| self.nearest(worked, |anchor| anchor.along))
            .unwrap_or(self.class_unit)
    }

    /// Geometric mean of the figures of the nearest gauges that state one.
    pub(super) fn nearest(
        &self,
        worked: Worked,
        figure: impl Fn(&Anchor) -> Option<Length>,
    ) -> Option<Length> {
        let height = self.relative(worked).height;
        let stated: Vec<(f64, Length)> = self
            .anchors
            .iter()
            .filter_map(|anchor| Some((anchor.distance(worked, height), figure(anchor)?)))
            .collect();
        let least = stated.iter().map(|(distance, _)| *distance).min_by(f64::total_cmp)?;
        let equals: Vec<f64> =
            stated.iter().filter(|(d, _)| *d == least).map(|(_, l)| l.to_mm().ln()).collect();
        Some(Length::mm((equals.iter().sum::<f64>() / equals.len() as f64).exp()))
    }
}
