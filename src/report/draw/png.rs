//! SVG to PNG, with the program's own fonts only.

use super::PictureError;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::fontdb::Database;
use resvg::usvg::{Options, Tree};
use std::fmt;
use std::sync::{Arc, OnceLock};

/// Pixels of the picture per pixel of the page: 2 gives 300 dots per inch for 960 px on 16 cm.
const FINENESS: f32 = 2.0;

/// Fonts of the program.
const FONTS: [&[u8]; 2] = [
    include_bytes!("../fonts/NotoSans-Regular.subset.ttf"),
    include_bytes!("../fonts/NotoSans-Bold.subset.ttf"),
];

fn fonts() -> Arc<Database> {
    static FOUND: OnceLock<Arc<Database>> = OnceLock::new();
    let found = FOUND.get_or_init(|| {
        let mut database = Database::new();
        for font in FONTS {
            database.load_font_data(font.to_vec());
        }
        for set in [Database::set_sans_serif_family, Database::set_serif_family] {
            set(&mut database, "Noto Sans");
        }
        Arc::new(database)
    });
    Arc::clone(found)
}

/// An SVG document as the bytes of a PNG file, with two pixels for each pixel of the page.
///
/// # Errors
/// When the document is not SVG or too large; charts of this module are neither.
pub fn png(svg: &str) -> Result<Vec<u8>, PictureError> {
    let fault = |why: &dyn fmt::Display| PictureError { why: why.to_string() };
    let options = Options { fontdb: fonts(), ..Options::default() };
    let tree = Tree::from_str(svg, &options).map_err(|e| fault(&e))?;
    let size = tree.size().to_int_size().scale_by(FINENESS).ok_or_else(|| fault(&"it is too large"))?;
    let mut picture = Pixmap::new(size.width(), size.height()).ok_or_else(|| fault(&"it is too large"))?;
    resvg::render(&tree, Transform::from_scale(FINENESS, FINENESS), &mut picture.as_mut());
    picture.encode_png().map_err(|e| fault(&e))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_document_becomes_a_picture_with_text() {
        let svg = |text: &str| {
            format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60\" height=\"20\"><text x=\"2\" y=\"15\">{text}</text></svg>"
            )
        };
        let blank = png(&svg("")).unwrap();
        let lettered = png(&svg("Loam")).unwrap();
        assert_eq!(&lettered[1..4], b"PNG");
        assert!(lettered.len() > blank.len() + 100, "the font draws letters");
        assert_eq!(lettered, png(&svg("Loam")).unwrap());
        assert!(png("no svg").is_err());
    }
}
