//! Sheets lying flat.

use crate::build::{Bias, linear, sheet, solve};

#[test]
fn rectangle_and_bias_parallelogram_are_free_of_stress() {
    let law = linear(60.0, 40.0, 0.4, 20.0);
    for (n, rows, w, h) in
        [(8, 40, 0.005, 0.0025), (23, 60, 0.005, 0.0025), (60, 100, 0.004, 0.003)]
    {
        let mut bias = Bias::new(n, rows, w, h, law);
        let mut x = bias.start.clone();
        let found = solve(&bias.body, &mut x, &[]);
        println!(
            "bias {n} x {rows}: start energy {:e} J, {found:?}",
            bias.body.energy(&bias.start)
        );
        bias.body.strands.clear();
    }
    let (body, mut x) = sheet(10, 10, 0.1, 0.1, 0.0, law);
    let found = solve(&body, &mut x, &[]);
    println!("{found:?}");
}
