"""The sub-commands, one file each: arguments in, exit code out."""

# name -> module with add_parser(commands) and run(args) -> exit code; only the one asked for is
# imported, so that --help and text commands start at once
COMMANDS = {
    "demo": ("fieldvoice.commands.demo", "hear the recorded jobs from end to end"),
    "work": ("fieldvoice.commands.work", "do a job step by step, by voice or keys"),
    "hear": ("fieldvoice.commands.hear", "say what is heard in sound files, and what it means"),
    "parse": ("fieldvoice.commands.parse", "say what a line of text would be understood as"),
    "report": ("fieldvoice.commands.report", "write a job's report and its readings"),
    "attach": ("fieldvoice.commands.attach", "keep a photo or another file with a job"),
    "amend": ("fieldvoice.commands.amend", "put a name at the head of a job's record right"),
    "review": ("fieldvoice.commands.review", "look at jobs in a browser, mark and amend lines"),
    "jobs": ("fieldvoice.commands.jobs", "list the jobs"),
    "log": ("fieldvoice.commands.log", "check that a job's record is as it was written"),
    "shop": ("fieldvoice.commands.shop", "figures of all jobs of a shop"),
    "learn-voice": ("fieldvoice.commands.learn_voice", "learn how a technician speaks"),
    "doctor": ("fieldvoice.commands.doctor", "check this computer and say what to fix"),
    "procedure": ("fieldvoice.commands.procedure", "check or show a procedure file"),
    "say-what": ("fieldvoice.commands.say_what", "list what can be said"),
    "completion": ("fieldvoice.commands.completion", "print a script for your shell to complete"),
    "work-out": ("fieldvoice.commands.work_out", "calculate one figure, such as a charge"),
}
