//! PNG of few colours: pictures here are flat fills, lines and type, so a palette holds them.

use std::collections::BTreeMap;
use std::collections::HashMap;

use png::BitDepth;
use png::ColorType;
use png::DeflateCompression;
use png::Encoder;
use png::EncodingError;
use png::Filter;

/// Most colours kept. The rest are blends on the rims of lines and letters, next to a kept one.
const MOST: usize = 128;

type Rgb = [u8; 3];

/// Encodes opaque pixels, row by row from the upper left.
///
/// # Errors
/// The encoder's own.
pub(super) fn encode(pixels: &[Rgb], size: [u32; 2]) -> Result<Vec<u8>, EncodingError> {
    let palette = palette(pixels);
    let indices = indices(pixels, &palette);
    let mut out = Vec::new();
    let mut encoder = Encoder::new(&mut out, size[0], size[1]);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(palette.concat());
    // Neighbouring indices are no gradient: filters would only hide the repeats.
    encoder.set_filter(Filter::NoFilter);
    encoder.set_deflate_compression(DeflateCompression::Level(9));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&indices)?;
    writer.finish()?;
    Ok(out)
}

/// The most used colours, most used first; equals in order of their value.
fn palette(pixels: &[Rgb]) -> Vec<Rgb> {
    let mut counts: BTreeMap<Rgb, usize> = BTreeMap::new();
    for run in pixels.chunk_by(|a, b| a == b) {
        *counts.entry(run[0]).or_default() += run.len();
    }
    let mut colours: Vec<(Rgb, usize)> = counts.into_iter().collect();
    colours.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    colours.truncate(MOST);
    colours.into_iter().map(|(colour, _)| colour).collect()
}

/// The nearest kept colour of every pixel.
fn indices(pixels: &[Rgb], palette: &[Rgb]) -> Vec<u8> {
    let mut known: HashMap<Rgb, u8> = HashMap::new();
    let nearest = |colour: &Rgb| {
        let far = |kept: &Rgb| -> u32 {
            (0..3).map(|k| u32::from(kept[k].abs_diff(colour[k])).pow(2)).sum()
        };
        let best = palette.iter().enumerate().min_by_key(|(_, kept)| far(kept));
        best.map_or(0, |(at, _)| at as u8)
    };
    pixels.iter().map(|p| *known.entry(*p).or_insert_with(|| nearest(p))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_colours_come_back_as_they_were() {
        let pixels: Vec<Rgb> = (0..600u32).map(|i| [(i % 100) as u8, 7, 200]).collect();
        let bytes = encode(&pixels, [30, 20]).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes));
        reader.set_transformations(png::Transformations::EXPAND);
        let mut reader = reader.read_info().unwrap();
        let mut back = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut back).unwrap();
        assert_eq!(back, pixels.concat());
    }

    #[test]
    fn rare_colours_take_their_nearest_neighbour() {
        let mut pixels: Vec<Rgb> = (0..MOST as u32 * 2).map(|i| [(i / 2) as u8, 0, 0]).collect();
        pixels.push([40, 0, 3]);
        let kept = palette(&pixels);
        assert_eq!(kept.len(), MOST);
        let at = indices(&pixels, &kept)[pixels.len() - 1];
        assert_eq!(kept[usize::from(at)], [40, 0, 0]);
    }
}
