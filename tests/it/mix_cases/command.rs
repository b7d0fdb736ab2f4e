//! `mix` as people meet it: published recipes, the page, and what has no answer.

use crate::cli::{here, status, text, whole};

#[test]
fn the_printed_mix_comes_out() {
    // cornell_moisture_example (second-hand): 10 kg grass at 77 % with leaves at 35 % to reach 60 % takes 6.8 kg of leaves
    let output = here(&[
        "mix",
        "grass_clippings=10,moisture=0.77",
        "leaves_autumn=?,moisture=0.35",
        "--moisture",
        "0.6",
        "--json",
    ]);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let number = |value: &serde_json::Value| value.as_f64().expect("a number");
    assert!((number(&answer["parts"][1]["wet"]) - 6.8).abs() < 1e-9, "{answer}");
    assert!((number(&answer["whole"]["moisture"]) - 0.6).abs() < 1e-12, "{answer}");
}

/// Wet mass of the second part that a mix is solved for.
fn solved(arguments: &[&str]) -> (f64, serde_json::Value) {
    let output = here(&[&["mix"], arguments, &["--json"]].concat());
    assert_eq!(status(&output), 0, "{}", whole(&output));
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    (answer["parts"][1]["wet"].as_f64().expect("a number"), answer)
}

#[test]
fn printed_recipes_come_out() {
    // Cornell's C:N example (inputs and answer from memory, digits derived): grass C 45, N 2.4 % and leaves C 50, N 0.75 % of dry
    // mass, C:N 30
    let grass = "grass_clippings=10,moisture=0.77,carbon=0.45,nitrogen=0.024";
    let leaves = "leaves_autumn=?,moisture=0.35,carbon=0.5,nitrogen=0.0075";
    let (wet, answer) = solved(&[grass, leaves, "--carbon-to-nitrogen", "30"]);
    assert!((wet - 3.474_126).abs() < 5e-7, "{wet}");
    assert!((answer["whole"]["moisture"].as_f64().expect("a number") - 0.662).abs() < 5e-4, "{answer}");
    // E12 (memory, digits derived): a manure of 70 % water, N 6 %, C:N 10 with sawdust of 35 %, N 0.11 %, C:N 500. Its
    // ash is set low, or no organic matter could hold 60 % carbon of the dry mass
    let manure = "cattle_manure_solid=1,moisture=0.7,carbon=0.6,nitrogen=0.06,ash=0.04";
    let sawdust = "sawdust=?,moisture=0.35,carbon=0.55,nitrogen=0.0011";
    let (for_moisture, answer) = solved(&[manure, sawdust, "--moisture", "0.6"]);
    assert!((for_moisture - 0.4).abs() < 1e-9, "{for_moisture}");
    let ratio = answer["whole"]["carbon_to_nitrogen"].as_f64().expect("a number");
    assert!((ratio - 17.66).abs() < 0.005, "{answer}");
    let (for_ratio, _) = solved(&[manure, sawdust, "--carbon-to-nitrogen", "30"]);
    assert!((for_ratio - 1.071_269).abs() < 5e-7, "{for_ratio}");
}

#[test]
fn a_stated_carbon_that_cannot_be_met_is_noted() {
    let output = here(&["mix", "bread=1,carbon=0.75"]);
    assert_eq!(status(&output), 0);
    assert!(
        text(&output.stderr).contains("carbon of 0.75 does not fit its other properties"),
        "{}",
        whole(&output)
    );
}

#[test]
fn a_mix_is_shown_whole() {
    let arguments = ["mix", "grass_clippings=10", "leaves_autumn=?,moisture=0.35", "--moisture", "0.6"];
    insta::assert_snapshot!(whole(&here(&arguments)), @r"
    exit status: 0
    ----- stdout
    Masses
    part              wet  water   dry      C        N        P        K    ash
                       kg     kg    kg     kg       kg       kg       kg     kg
    ---------------  ----  -----  ----  -----  -------  -------  -------  -----
    grass clippings    10    7.7   2.3  1.058   0.0782  0.00805    0.046  0.207
    leaves autumn     6.8   2.38  4.42  2.122  0.04155  0.00442  0.01591  0.442
    whole            16.8  10.08  6.72   3.18   0.1197  0.01247  0.06191  0.649

    Properties
    part             moisture  ash of dry    C:N    pH   volume  bulk density  air-filled porosity
                            %           %                    m3         kg/m3                    %
    ---------------  --------  ----------  -----  ----  -------  ------------  -------------------
    grass clippings      77.0         9.0  13.53  6.30     0.04           250                 77.2
    leaves autumn        35.0        10.0  51.06  6.00  0.09714            70                 94.7
    whole                60.0         9.7  26.55  6.16  0.09829         170.9                 85.5

    moisture                          target 0.6, reached 0.6
    ");
}

#[test]
fn a_mix_without_an_answer_is_status_one_with_the_nearest() {
    let arguments = ["mix", "grass_clippings=10", "leaves_autumn=?", "--moisture", "0.9"];
    insta::assert_snapshot!(whole(&here(&arguments)), @r"
    exit status: 1
    ----- stderr
    error: moisture of 0.9 cannot be reached, the best these parts allow is 0.7700
    hint: the nearest these parts reach is 0.77; add another free part or ask for that
    ");
}

#[test]
fn impossible_mixes_are_status_two() {
    insta::assert_snapshot!(whole(&here(&["mix", "gras_clippings=10"])), @r"
    exit status: 2
    ----- stderr
    error: no ingredient is named `gras_clippings`
    hint: did you mean `grass_clippings`?
    hint: `loamledger facts --ingredients` lists them; `water` may be used too
    ");
    insta::assert_snapshot!(whole(&here(&["mix", "bread=10", "--moisture", "0.6"])), @r"
    exit status: 2
    ----- stderr
    error: targets are given but every amount is fixed
    hint: write `ingredient=?` for the amount to be solved
    ");
    insta::assert_snapshot!(whole(&here(&["mix", "bread=10", "grass_clippings=?"])), @r"
    exit status: 2
    ----- stderr
    error: an amount is to be solved but no target is given
    hint: add a target such as `--moisture 0.6`, or give the amount in kilograms
    ");
    insta::assert_snapshot!(whole(&here(&["mix", "bread=10,ash=1.2"])), @r"
    exit status: 2
    ----- stderr
    error: bread: ash is 1.2; it can be 0 to 1
    hint: figures are shares of dry mass, moisture of wet mass
    ");
    let wrong_unit = here(&["mix", "bread=10m2"]);
    assert_eq!(status(&wrong_unit), 2);
    assert!(text(&wrong_unit.stderr).contains("measures area"));
}
