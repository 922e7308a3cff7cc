//! Every command explains itself with an example, and a wrong command line is bad input.

use crate::scene::Scene;
use expect_test::expect;

const COMMANDS: [&str; 7] = ["new", "check", "run", "verify", "materials", "export", "completions"];

#[test]
fn every_command_has_help_with_an_example() {
    let scene = Scene::new();
    for command in COMMANDS {
        let said = scene.run(&[command, "--help"]);
        assert_eq!((said.code, said.stderr.as_str()), (Some(0), ""), "{command}");
        let example = format!("Example:\n  facedown {command} ");
        assert!(said.stdout.contains(&example), "{command} has no example:\n{}", said.stdout);
    }
}

#[test]
fn the_main_help_lists_all_commands_and_exit_statuses() {
    let said = Scene::new().run(&["--help"]);
    for command in COMMANDS {
        assert!(said.stdout.contains(&format!("\n  {command} ")), "{command} is not listed");
    }
    for status in
        ["0    all requirements", "1    a requirement", "2    the command", "3    a study", "130  inter"]
    {
        assert!(said.stdout.contains(status), "{status} is not documented");
    }
}

#[test]
fn a_misspelt_command_is_bad_input_and_talked_about_on_standard_error() {
    expect![[r#"
        exit 2
        --- stdout
        --- stderr
        error: unrecognized subcommand 'chek'

          tip: a similar subcommand exists: 'check'

        Usage: facedown <COMMAND>

        For more information, try '--help'.
    "#]]
    .assert_eq(&Scene::new().run(&["chek"]).all());
}

#[test]
fn completions_are_written_for_every_shell() {
    let scene = Scene::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let said = scene.run(&["completions", shell]);
        assert_eq!(said.code, Some(0));
        assert!(said.stdout.contains("materials"), "{shell} does not complete the commands");
    }
}
