"""The sound helper: a process of its own that holds the one audio stream.

Started by `whistlestop.sound.helper_port`; it knows cue ids, samples and
CLOCK_MONOTONIC, and refuses to know circuits, sessions and screens.

Lines, version 1. UTF-8, one message a line, words parted by one space; the last
field of `load`, `lost` and `refused` runs to the end of the line. Times are
seconds of `time.monotonic()` with decimals. A line that makes no sense is
answered with `refused` and otherwise ignored.

To the helper:
    hello 1                             first line; another version ends the helper
    load <cue> <path>                   a WAV: mono, 16 bit, 44.1 kHz; new ids welcome
    volume <0..100>                     percent; 50 is -12 dB
    offset <-300..300>                  ms the loudspeaker is later than allowed for
    at <id> <monotonic_s> <cue> <epoch> play then; an (epoch, id) counts once
    clear <epoch>                       withdraw all of older epochs, refuse more
    now <cue>                           play in the next block
    quit                                end (so does the end of the input)

From the helper:
    ready <backend> <rate_hz> <latency_ms>   the stream is running
    played <id> <frame>                 handed to the device at this frame
    late <id> <ms>                      played, this much after its time
    dropped <id>                        not played: over 150 ms late, or no such cue
    health <age_ms> <resets>            each second: age of the last block (-1: no
                                        stream), restarts of the clock estimate
    lost <reason>                       no sound; tried again every 2 s
    back                                sound again after `lost`
    refused <word> <reason>             a line or file that could not be used

Ends with 0 after quit, 2 for a wrong hello, 3 to be restarted, 4 without an
audio library (restarting it is no use).

Theory of operation. The parent sends each cue seconds ahead. The device asks for
a block of frames; only then is each cue due in it turned from a time into a
frame, by an estimate of how the device's frames run against the clock
(`clock_fit`), and mixed in exactly there (`mixer`). So spacing is exact and no
delay in either process moves a cue. Everything the device's thread touches is
reached through two deques; it takes no lock and writes no file.
"""
