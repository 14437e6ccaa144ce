//! Writes one bench file: `make FOLDER POCKETS SIDE ELEMENTS CURVES | words | wrong N`.
//! For profiling by hand.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)]
mod made;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let grid = made::Grid::enrolled(
        std::path::Path::new(&a[1]),
        a[2].parse().unwrap(),
        a[3].parse().unwrap(),
    );
    let (name, art) = match a[4].as_str() {
        "words" => ("words.svg".to_owned(), grid.words()),
        "wrong" => (
            format!("wrong-{}.svg", a[5]),
            grid.wrong(a[5].parse().unwrap()),
        ),
        n => (
            format!("traced-{n}-{}.svg", a[5]),
            grid.traced(n.parse().unwrap(), a[5].parse().unwrap()),
        ),
    };
    println!("{}", grid.run(&name, &art).display());
}
