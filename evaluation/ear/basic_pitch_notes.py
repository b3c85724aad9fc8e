"""Notes of recordings by basic-pitch, as JSON, for ``evaluation.ear.references``.

It is run by an interpreter that has basic-pitch, and knows nothing of the project:

PYTHON basic_pitch_notes.py RECORDING ...
"""

import contextlib
import io
import json
import sys

from basic_pitch import ICASSP_2022_MODEL_PATH
from basic_pitch.inference import Model, predict

_SETTINGS: dict[str, dict[str, float]] = {
    "default": {},
    # from the open low string to the 24th fret of the highest
    "guitar": {"minimum_frequency": 78.0, "maximum_frequency": 1400.0},
}


def main() -> None:
    """Print one line: for each recording its notes by setting, each an onset in seconds and a MIDI number."""
    answers = []
    with contextlib.redirect_stdout(io.StringIO()):
        model = Model(ICASSP_2022_MODEL_PATH)
        for path in sys.argv[1:]:
            found = {}
            for name, setting in _SETTINGS.items():
                _, _, notes = predict(path, model, **setting)
                found[name] = sorted((float(note[0]), int(note[2])) for note in notes)
            answers.append(found)
    print(json.dumps(answers))


if __name__ == "__main__":
    main()
