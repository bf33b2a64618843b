//! Plots as PNG, with a font of our own, so that no font of the system is asked for.

use crate::estimate::sweep::in_order;
use crate::report::ReportError;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use std::sync::Arc;

/// DejaVu Sans, cut down; see `font/README.md`.
const FONT_BYTES: &[u8] = include_bytes!("font/DejaVuSans-subset.ttf");
/// Its family.
pub(super) const FAMILY: &str = "DejaVu Sans";
/// Pixels of the PNG per shown pixel of the SVG.
const SCALE: f32 = 2.0;

/// Files of plots: each SVG, and beside it a PNG of twice its shown size and of the same name.
///
/// # Arguments
/// - `plots`: file name ending in `.svg` and SVG text of each plot
///
/// # Returns
/// File name and bytes, the PNG after its SVG; the same bytes on every machine for the same SVG.
///
/// # Errors
/// [`ReportError::Raster`] when an SVG cannot be drawn.
pub fn plot_files(plots: &[(String, String)]) -> Result<Vec<(String, Vec<u8>)>, ReportError> {
    let mut options = Options { font_family: FAMILY.to_owned(), ..Options::default() };
    let fonts = options.fontdb_mut();
    fonts.load_font_source(fontdb::Source::Binary(Arc::new(FONT_BYTES)));
    fonts.set_sans_serif_family(FAMILY);
    let drawn = in_order(plots, |(name, svg)| {
        png(svg, &options).map_err(|reason| ReportError::Raster { name: name.clone(), reason })
    })?;
    let pair = |((name, svg), drawn): (&(String, String), Vec<u8>)| {
        let raster = format!("{}.png", name.strip_suffix(".svg").unwrap_or(name));
        [(name.clone(), svg.clone().into_bytes()), (raster, drawn)]
    };
    Ok(plots.iter().zip(drawn).flat_map(pair).collect())
}

fn png(svg: &str, options: &Options<'_>) -> Result<Vec<u8>, String> {
    let tree = Tree::from_str(svg, options).map_err(|error| error.to_string())?;
    let side = |shown: f32| (shown * SCALE).round() as u32;
    let (width, height) = (side(tree.size().width()), side(tree.size().height()));
    let mut pixels = Pixmap::new(width, height).ok_or_else(|| format!("its size is {width} by {height}"))?;
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Units, fixture, plots};

    /// Width, height and grey value of each pixel.
    struct Image {
        width: usize,
        height: usize,
        grey: Vec<u8>,
    }

    fn decode(bytes: &[u8]) -> Image {
        let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut buffer = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut buffer).unwrap();
        assert_eq!((info.color_type, info.bit_depth), (::png::ColorType::Rgba, ::png::BitDepth::Eight));
        let (width, height) = (info.width as usize, info.height as usize);
        assert!(buffer.as_chunks::<4>().0.iter().all(|p| p[3] == 255), "white behind everything");
        let grey = buffer.as_chunks::<4>().0.iter().map(|p| p[..3].iter().copied().min().unwrap());
        Image { width, height, grey: grey.collect() }
    }

    impl Image {
        /// Share of dark pixels in a box of the shown picture.
        fn ink(&self, x: std::ops::Range<usize>, y: std::ops::Range<usize>) -> f64 {
            let area = 4 * x.len() * y.len();
            let rows = 2 * y.start..2 * y.end;
            let dark = rows.flat_map(|row| &self.grey[row * self.width..][2 * x.start..2 * x.end]);
            dark.filter(|grey| **grey < 110).count() as f64 / area as f64
        }
    }

    fn drawn() -> Vec<(String, Vec<u8>)> {
        plot_files(&plots(&fixture::estimate(), Units::Metric).unwrap()).unwrap()
    }

    #[test]
    fn each_svg_has_a_png_of_twice_its_size_with_words_in_it() {
        let files = drawn();
        assert_eq!(files.len(), 8);
        for pair in files.chunks(2) {
            let [(svg_name, svg), (name, bytes)] = pair else { panic!("pairs") };
            assert_eq!(svg_name.strip_suffix(".svg"), name.strip_suffix(".png"));
            assert!(String::from_utf8_lossy(svg).contains(FAMILY));
            let image = decode(bytes);
            assert_eq!((image.width, image.height), (1800, 1200), "{name}");
            // The title stands in the first 44 px from the left edge on; letters fill some 5 to 25 % of
            // their line, boxes of missing letters more, a missing font nothing.
            let title = image.ink(14..300, 13..31);
            assert!((0.04..0.30).contains(&title), "{name}: {title}");
            assert!(image.ink(700..900, 0..40) < 0.001, "{name}: nothing stands right of the title");
            // Curves and axes.
            let chart = image.ink(60..880, 100..590);
            assert!((0.001..0.2).contains(&chart), "{name}: {chart}");
        }
    }

    #[test]
    fn the_same_svg_gives_the_same_bytes() {
        assert_eq!(drawn(), drawn());
    }

    #[test]
    fn words_vanish_without_the_font() {
        let svg = &plots(&fixture::estimate(), Units::Metric).unwrap()[0].1;
        let image = decode(&png(svg, &Options::default()).unwrap());
        assert_eq!(image.ink(14..300, 13..31), 0.0, "so the check of the title can fail");
    }

    #[test]
    fn a_plot_that_is_no_svg_is_named() {
        let error = plot_files(&[("a.svg".to_owned(), "<svg".to_owned())]).unwrap_err();
        assert!(error.to_string().starts_with("plot a.svg could not be drawn as PNG"), "{error}");
    }
}
