"""Who may import whom, and which library has which users; DEVELOPERS.md tells it too."""

# room -> the rooms that it may import, as prefixes of module names; every room may import itself
# and errors
ALLOWED: dict[str, tuple[str, ...]] = {
    "__init__": (),
    "errors": (),
    "quantity": (),
    "language": ("quantity",),
    "trade": ("quantity",),
    "procedure": ("quantity", "language", "trade"),
    "jobstate": ("quantity", "procedure", "trade"),
    "dialogue": ("quantity", "language.intents", "trade", "procedure", "jobstate"),
    "devices": ("quantity",),
    "acoustics": (),
    "ownvoice": ("acoustics",),
    "secondear": ("acoustics", "devices.recognizer"),
    "review": ("quantity", "trade", "procedure", "jobstate"),
    "shop": (),
    "desk": ("quantity", "procedure", "jobstate", "review", "dialogue.safeguards.plate",
             "devices.joblog"),
    "session": ("language", "procedure.model", "jobstate", "dialogue"),
    "commands": ("quantity", "language", "trade", "procedure", "jobstate", "dialogue", "devices",
                 "review", "desk", "shop", "session", "acoustics", "ownvoice", "secondear"),
    "__main__": ("commands",),
    "training": ("quantity", "language", "trade", "procedure", "jobstate", "dialogue", "devices",
                 "review", "session", "acoustics", "ownvoice", "secondear"),
}  # fmt: skip
EXCEPTIONS = {
    "shop": ("jobstate.events",),  # which kinds of events are work
    "review": ("devices.joblog",),  # a page with sound and pictures in it reads them from the job
    "devices/joblog": ("jobstate.events",  # the one device that knows what an event is
                       "devices.whole_file", "devices.free_name"),
    "devices/vosk_recognizer": ("devices.recognizer",  # an engine knows what it has to offer
                                "devices.vosk_result"),
    "devices/vosk_result": ("devices.recognizer",),
    "devices/two_parts": ("devices.recognizer", "devices.joined"),  # so does what
    "devices/early_end": ("devices.recognizer", "devices.quiet", "devices.two_parts"),  # stands
    "devices/quiet": ("devices.recognizer", "devices.noise_floor",  # before any engine,
                      "devices.frames"),
    "devices/dozing": ("devices.recognizer", "devices.noise_floor",  # and its parts
                       "devices.frames"),
    "devices/noise_floor": ("devices.recognizer",),
    "devices/joined": ("devices.recognizer",),
}
ONE_USER = {  # library -> the only files that may import it
    "vosk": ("devices/vosk_recognizer.py",),
    "pyttsx3": ("devices/mouth/espeak.py",),
    "espeakng_loader": ("devices/mouth/espeak.py",),
    "miniaudio": ("devices/ears/capture.py", "devices/soundfile.py",
                  "devices/mouth/loudspeaker.py"),
    "py_nanotts": ("devices/mouth/pico_child.py", "training/speech/voices.py"),
    "prompt_toolkit": ("devices/screen/keys.py", "devices/screen/live.py"),
    "wcwidth": ("devices/screen/cells.py",),
    "pint": ("quantity/convert.py",),
    "psychrolib": ("quantity/site.py", "trade/air/coil.py"),
    "argcomplete": ("commands/completion.py", "commands/wiring/what_may_follow.py"),
    "filelock": ("devices/joblog/lock.py",),
    "platformdirs": ("devices/cache.py", "devices/joblog/folders.py",
                     "devices/joblog/rescue.py"),
    "soxr": ("devices/soundfile.py", "devices/mouth/voices.py"),
    "msgspec": ("jobstate/events.py", "jobstate/wire.py", "jobstate/rows.py",
                "devices/joblog/lines.py", "devices/joblog/sealing.py", "review/schema.py"),
    "soundfile": ("review/page_sound.py", "devices/recorded_at.py", "training/"),
    "PIL": ("review/report/image.py",),
    "duckdb": ("shop/",),
    "jinja2": ("review/", "shop/"),
    "markupsafe": ("review/", "desk/"),
    "flask": ("desk/",),
    "waitress": ("desk/serving.py",),
    "lark": ("language/", "procedure/", "training/"),
}
