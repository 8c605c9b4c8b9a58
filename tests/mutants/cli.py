"""Small wrong changes in ``cli/``."""

from .row import Row

__all__ = ["ROWS"]

COMMANDS = ("tests/cli/test_commands.py",)
CHECK = ("tests/check/test_command.py",)

DOOR = ("tests/cli/test_front_door.py",)
_SERVER, _BROWSER = "tests/bench/test_server.py", "tests/browser/test_bench.py"

_NEVER_REPLACED = (
    "tests/cli/test_many.py::test_what_an_option_reads_is_never_replaced_even_by_force"
)

ROWS: list[Row] = [
    Row(
        "cli/mend.py",
        "whole, how, bars=bars, remarks=remarks, manner=manner)",
        "whole, how, bars=bars, remarks=remarks)",
        ("tests/cli/test_manner.py",),
        "a player's part mended in the source's manner, whatever was asked for",
    ),
    Row(
        "cli/usage.py",
        "    if stray:\n",
        "    if not names:\n",
        COMMANDS,
        "a cycle without its quotes taken for files",
    ),
    Row(
        "cli/work.py",
        "            _leave(max(result.code for result in results))\n\n        return each",
        "            _leave(min(result.code for result in results))\n\n        return each",
        ("tests/cli/test_many.py::test_what_writes_one_file_of_a_score_writes_one_of_each",),
        "one good file hides that another could not be read",
    ),
    Row(
        "cli/errors.py",
        "FAULT if isinstance(error, MusicError) else REQUEST",
        "REQUEST",
        COMMANDS,
        "the music's fault told as the request's",
    ),
    Row(
        "cli/main.py",
        'return _complain(prefix, "interrupted", errors.INTERRUPTED)',
        'return _complain(prefix, "interrupted", 0)',
        COMMANDS,
        "an interruption that counts as success",
    ),
    Row(
        "cli/out.py",
        "        if not force:\n",
        "        if force:\n",
        COMMANDS,
        "a file replaced that nobody said to replace",
    ),
    Row(
        "cli/many.py",
        "return list(found)",
        "return list(found)[:1]",
        CHECK,
        "one file of many",
    ),
    Row(
        "cli/check.py",
        "raise click.exceptions.Exit(max(outcome.code for outcome in outcomes))",
        "raise click.exceptions.Exit(outcomes[-1].code)",
        CHECK,
        "only the last file counts",
    ),
    Row(
        "cli/check.py",
        "raise click.exceptions.Exit(0 if ledger.is_right else FAULT)",
        "raise click.exceptions.Exit(0)",
        CHECK,
        "a faulty score ends well",
    ),
    Row(
        "cli/work.py",
        "    if list(places.values()).count(where) > 1:",
        "    if list(places.values()).count(where) > 2:",
        ("tests/cli/test_many.py",),
        "two scores of a folder written over each other",
    ),
    Row(
        "cli/work.py",
        "folder))\n    _leave(max(result.code for result in results))",
        "folder))\n    _leave(min(result.code for result in results))",
        ("tests/cli/test_many.py",),
        "one good file makes the run good",
    ),
    Row(
        "cli/work.py",
        "places[name] = str((folder / path.relative_to(root))",
        "places[name] = str((folder / path.name)",
        ("tests/cli/test_many.py",),
        "the folders of a folder thrown together",
    ),
    Row(
        "cli/work.py",
        '        return f".{to.kind}"',
        "        return path.suffix",
        ("tests/cli/test_many.py",),
        "another kind than was asked for",
    ),
    Row(
        "cli/errors.py",
        "return _COMMANDS.sub(",
        "return re.sub('~', ",
        ("tests/cli/test_many.py",),
        "a file's name commands the terminal",
    ),
    Row(
        "cli/start.py",
        "sys.exit(130)",
        "sys.exit(0)",
        COMMANDS,
        "an interruption while loading taken for success",
    ),
    Row(
        "cli/params.py",
        "for word in words if word.startswith(incomplete)]",
        "for word in words]",
        COMMANDS,
        "the shell offers every word",
    ),
    Row(
        "cli/out.py",
        "        for read in (source, *inputs, *also_read()):",
        "        for read in (source, *also_read()):",
        (_NEVER_REPLACED,),
        "the score before written over",
    ),
    Row(
        "cli/out.py",
        "        for read in (source, *inputs, *also_read()):",
        "        for read in (source, *inputs):",
        (_NEVER_REPLACED,),
        "a plan, or the score of another editor, written over",
    ),
    Row(
        "cli/restate.py",
        "told_only=explained",
        "told_only=False",
        ("tests/cli/test_commands.py",),
        "--explain alone wants a file",
    ),
    Row(
        "cli/help.py",
        "    if found is None:",
        "    if found is not None:",
        ("tests/cli/test_commands.py",),
        "a page shown for a command",
    ),
    Row(
        "cli/bench/app.py",
        '        if request.headers.get("host", "") not in bench.hosts:',
        "        if False:",
        (f"{_SERVER}::test_another_host_is_turned_away",),
        "the bench answers whatever name it is called by",
    ),
    Row(
        "cli/bench/app.py",
        '        if origin is not None and origin.removeprefix("http://") not in bench.hosts:',
        "        if False:",
        (f"{_SERVER}::test_another_origin_is_turned_away",),
        "another page asks the bench",
    ),
    Row(
        "cli/bench/app.py",
        "        if not secrets.compare_digest(token.encode(), bench.token.encode()):",
        "        if False:",
        (f"{_SERVER}::test_without_the_secret_nothing_is_answered",),
        "the secret is not asked for",
    ),
    Row(
        "cli/bench/asked.py",
        "            if len(found) > MOST_BYTES:",
        "            if False:",
        (f"{_SERVER}::test_what_is_too_large_is_refused",),
        "a request as long as it likes",
    ),
    Row(
        "cli/bench/app.py",
        "        if name not in _OWN | _SHARED:",
        '        if "/" in name:',
        (f"{_SERVER}::test_no_path_leads_out",),
        "any file of the folder is served",
    ),
    Row(
        "cli/bench/music.py",
        "    if data is None:",
        "    if data is None and False:",
        (
            f"{_SERVER}::test_an_editor_is_one_of_a_score_on_the_tray_and_never_of_a_file_on_the_disk",
        ),
        "a score that nobody dropped",
    ),
    Row(
        "cli/bench/seeing.py",
        '        drawn["overfull"] = (given, text, narrow) not in _overfull',
        '        drawn["overfull"] = False',
        (
            f"{_SERVER}::test_rows_that_turn_out_too_full_when_they_are_scrolled_to_are_laid_out_anew",
        ),
        "two systems in one row, where one scrolls to it",
    ),
    Row(
        "cli/bench/trying.py",
        "        if made is not None and made.heard not in heard:",
        "        if made is not None:",
        (f"{_SERVER}::test_guises_follow_the_first_until_all_are_tried",),
        "the same metres tried over and over",
    ),
    Row(
        "cli/bench/seeing.py",
        "        if laid_out.keys[number] not in known",
        "        if True",
        (f"{_SERVER}::test_what_the_page_has_already_is_not_drawn_again",),
        "rows drawn that stand there already",
    ),
    Row(
        "cli/bench/music.py",
        '            return f"“{blank.lead} {word}”" if blank.lead else f"“{word}”"',
        "            return found[0]",
        (f"{_SERVER}::test_the_page_speaks_of_blanks_and_never_of_options",),
        "options shown to who never saw a command line",
    ),
    Row(
        "cli/bench/wording.py",
        '        words += ["--piece", piece]',
        "        words += []",
        (f"{_SERVER}::test_a_book_of_tunes_shows_its_list_and_a_tune_of_it_is_opened",),
        "a command that does not say which tune",
    ),
    Row(
        "cli/bench/web/stage.js",
        "drawn.get(key) || old.get(key) || waiting(key)",
        "waiting(key)",
        (f"{_BROWSER}::test_only_changed_rows_are_drawn_anew_and_place_focus_and_sound_stay",),
        "every row drawn anew",
    ),
    Row(
        "cli/bench/web/stage.js",
        "    if (now !== undefined && Math.abs(now - anchor.at) > 1) scrollBy(0, now - anchor.at);",
        "    scrollTo(0, 0);",
        (f"{_BROWSER}::test_only_changed_rows_are_drawn_anew_and_place_focus_and_sound_stay",),
        "the page jumps to its top",
    ),
    Row(
        "cli/bench/web/asking.js",
        "      stopped();\n",
        "",
        (f"{_BROWSER}::test_a_second_tab_is_told_and_a_stopped_bench_keeps_the_chain",),
        "a bench that was stopped says nothing",
    ),
]
