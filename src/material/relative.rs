//! Sizes of stitches relative to one another, from the presets alone.

use super::preset::Presets;
use super::worked::{Texture, Worked, post_key};
use crate::stitches::Craft;
use crate::stitches::LoopTaken;
use crate::stitches::Post;
use crate::stitches::StitchKind;

/// A stitch's width and height in unit widths (a single crochet's or a stockinette stitch's width).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Relative {
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Presets {
    /// Size of a stitch in the unit widths of a piece of `craft`.
    pub(super) fn relative(&self, worked: Worked, craft: Craft) -> Relative {
        let own = match worked.craft() {
            Craft::Crochet => self.crochet(worked),
            Craft::Knit => self.knit(worked),
        };
        let single = self.value("knit.single_crochet_width");
        let factor = match (craft, worked.craft()) {
            (Craft::Knit, Craft::Crochet) => single,
            (Craft::Crochet, Craft::Knit) => 1.0 / single,
            _ => 1.0,
        };
        Relative { width: own.width * factor, height: own.height * factor }
    }

    fn crochet(&self, worked: Worked) -> Relative {
        let own = match worked.kind {
            StitchKind::Chain => self.crochet_named("chain"),
            StitchKind::SlipStitch => self.crochet_named("slip"),
            StitchKind::ReverseSingle => self.crochet_named("reverse_single"),
            StitchKind::Extended(post) => {
                let plain = self.post(post);
                Relative { height: plain.height + self.value("crochet.extension"), ..plain }
            }
            StitchKind::Cluster { post, legs } => self.swollen(post, legs, "crochet.cluster_swell"),
            StitchKind::Puff { legs } => self.swollen(Post::HalfDouble, legs, "crochet.puff_swell"),
            StitchKind::Popcorn { post, legs } => self.swollen(post, legs, "crochet.popcorn_swell"),
            StitchKind::Plain(post) => self.post(post),
            _ => self.crochet_named("single"),
        };
        let taller = match worked.taken {
            LoopTaken::Both => 0.0,
            LoopTaken::Back => self.value("crochet.back_loop_taller"),
            LoopTaken::Front => self.value("crochet.front_loop_taller"),
            LoopTaken::Third => self.value("crochet.third_loop_taller"),
        };
        Relative { height: own.height * (1.0 + taller), ..own }
    }

    fn post(&self, post: Post) -> Relative {
        self.crochet_named(post_key(post))
    }

    fn crochet_named(&self, name: &str) -> Relative {
        let width = self.value(&format!("crochet.width.{name}"));
        Relative { width, height: width * self.value(&format!("crochet.ratio.{name}")) }
    }

    /// A stitch of several legs: as tall as its post, wider for every leg after the first.
    fn swollen(&self, post: Post, legs: u8, swell: &str) -> Relative {
        let plain = self.post(post);
        let further = f64::from(legs.saturating_sub(1));
        Relative { width: plain.width * (1.0 + further * self.value(swell)), ..plain }
    }

    fn knit(&self, worked: Worked) -> Relative {
        let ground = self.texture(worked.texture);
        match worked.kind {
            StitchKind::Knit { twisted: true, .. } => {
                let factor = self.value("knit.twisted_narrower");
                Relative { width: ground.width * factor, ..ground }
            }
            StitchKind::YarnOver => {
                Relative { width: ground.width * self.value("knit.width.yarn_over"), ..ground }
            }
            StitchKind::CastOn => {
                Relative { width: ground.width * self.value("knit.width.cast_on"), height: 0.0 }
            }
            StitchKind::BindOff => {
                let width = ground.width * self.value("knit.width.bind_off");
                Relative { width, height: width * self.value("knit.ratio.bind_off") }
            }
            _ => ground,
        }
    }

    pub(super) fn texture(&self, texture: Texture) -> Relative {
        let width = self.value(&format!("knit.width.{}", texture.key()));
        Relative { width, height: width * self.value(&format!("knit.ratio.{}", texture.key())) }
    }
}

/// Every kind of stitch once, for tests that nothing is left out.
#[cfg(test)]
pub(super) fn every_stitch() -> Vec<Worked> {
    let posts = [
        Post::Single,
        Post::HalfDouble,
        Post::Double,
        Post::Treble,
        Post::DoubleTreble,
        Post::TripleTreble,
    ];
    let mut kinds = vec![
        StitchKind::Chain,
        StitchKind::SlipStitch,
        StitchKind::ReverseSingle,
        StitchKind::Puff { legs: 4 },
        StitchKind::CastOn,
        StitchKind::Knit { purl: false, twisted: false },
        StitchKind::Knit { purl: true, twisted: false },
        StitchKind::Knit { purl: false, twisted: true },
        StitchKind::Slipped,
        StitchKind::YarnOver,
        StitchKind::MakeOne,
        StitchKind::BindOff,
    ];
    for post in posts {
        kinds.push(StitchKind::Plain(post));
        kinds.push(StitchKind::Extended(post));
        kinds.push(StitchKind::Cluster { post, legs: 3 });
        kinds.push(StitchKind::Popcorn { post, legs: 5 });
    }
    let loops = [LoopTaken::Both, LoopTaken::Back, LoopTaken::Front, LoopTaken::Third];
    let textures = [Texture::Stockinette, Texture::Garter, Texture::Rib, Texture::Seed];
    let mut all = Vec::new();
    for &kind in &kinds {
        for taken in loops {
            all.extend(textures.map(|texture| Worked { kind, taken, texture }));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stitch_has_a_size_in_both_crafts() {
        let presets = Presets::default();
        for worked in every_stitch() {
            for craft in [Craft::Crochet, Craft::Knit] {
                let size = presets.relative(worked, craft);
                assert!(size.width > 0.0 && size.width.is_finite(), "{worked:?}");
                let flat = worked.kind == StitchKind::CastOn;
                assert!(size.height > 0.0 || flat && size.height == 0.0, "{worked:?}");
            }
        }
    }

    #[test]
    fn posts_rise_with_each_yarn_over() {
        let presets = Presets::default();
        let height =
            |post| presets.relative(Worked::plain(StitchKind::Plain(post)), Craft::Crochet);
        let order =
            [Post::Single, Post::HalfDouble, Post::Double, Post::Treble, Post::DoubleTreble];
        for pair in order.windows(2) {
            assert!(height(pair[0]).height < height(pair[1]).height, "{pair:?}");
        }
    }

    /// One maker's back-loop single crochet is square, 12 x 12 (ravelry.com/patterns/library/the-wrap-4).
    #[test]
    fn back_loop_single_crochet_is_about_square() {
        let worked =
            Worked { taken: LoopTaken::Back, ..Worked::plain(StitchKind::Plain(Post::Single)) };
        let size = Presets::default().relative(worked, Craft::Crochet);
        assert!((size.height / size.width - 1.0).abs() < 0.01, "{size:?}");
    }
}
