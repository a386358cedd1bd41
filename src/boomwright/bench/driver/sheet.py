"""The form for readings with a multimeter, a resistor and a tone: what to wire, what to write."""

from __future__ import annotations

__all__ = ["form_text"]

_FORM = """\
# A driver by multimeter, tone and resistor. Fill in, then:
#     boomwright identify readings {file}
#
# WIRE    amplifier plus  ->  known resistor (10 Ω, 5 W serves)  ->  driver plus
#         amplifier minus ->  driver minus
#         Tones come from a phone or computer. The driver lies on its back on something soft,
#         or is held in free air, a metre from walls; nothing touches its cone.
#
# CAUTION Set the level with the amplifier's volume at its lowest first, then up to about 0.1 to
#         0.3 V across the driver, no more: the cone must be seen to move hardly at all. A tone at
#         full level burns a small driver, and your ears, in seconds. Take no reading on an
#         amplifier that runs from the mains with its case open. Keep the meter's probes from
#         touching each other at the amplifier's terminals.
#         If the amplifier is of class D, or its meter readings wander, use the headphone output
#         of an old amplifier of class AB: many meters read the ripple of a class D output too.
#
# METER   On a.c. volts. Many cheap meters lie above 400 Hz and below 40 Hz: read the resistor and
#         the driver at the same frequency with the same range, and what counts, their ratio, is
#         right all the same.

[driver]
name = ""                   # what you call it
diameter = ""               # across the cone and HALF the surround on each side: "13 cm ±1 mm"
dc_ohms = ""                # ohmmeter on the driver's terminals, cone at rest: "6.3 Ω"
dc_leads = ""               # the same with the probes held together; it is taken off: "0.2 Ω"

[meter]
resistor = "10 Ω ±1 %"      # the known resistor; read it with the ohmmeter if you can
error = "1 %"               # of the a.c. volts, as in the meter's sheet
last_digit = "1 mV"         # the least step it shows

# 1. Turn the tone from 20 Hz up until the volts at the DRIVER are highest: that is the resonance.
#    Write it down, with the volts across the resistor and across the driver.
# 2. Z there = resistor x driver volts / resistor volts. Call the d.c. ohms Re and r0 = Z / Re.
#    Turn the tone down, then up, until Z has come down to Re x sqrt(r0): the two side frequencies.
#    Anywhere near will do: write what you read, it need not be exactly there.
# 3. One or two frequencies more on each side; and for the inductance 500 Hz, 1, 2 and 5 kHz, if
#    your meter reads those. Three readings are the least; twelve make the ranges half as wide.

[free_air]
readings = [
  # frequency   across resistor   across driver
  # ["52.0 Hz", "0.042 V",        "0.215 V"],
]

# 4. Put a known mass on the cone, around the dust cap, in a ring: coins, each weighed, held by a
#    little putty that is weighed with them. As much as lowers the resonance by a fifth to a third;
#    5 g for a 4-inch, 10 g for a 6-inch, 20 g for an 8-inch driver to begin with. Then find the
#    highest volts at the driver again. Readings as above make it better still.

[mass]
mass = ""                   # "10 g ±0.1 g"
peak = ""                   # where the volts at the driver are highest now: "41.5 Hz ±0.5 Hz"
readings = [
]

# 5. Or, instead of the mass: the driver on a tight closed box of known inside volume (with the air
#    under the cone, less what stands inside), magnet outwards if you like. Seal it well.

[box]
volume = ""                 # "12 L ±3 %"
peak = ""
readings = [
]

# A driver that stays in its own cabinet: put its readings under [free_air] and add
#     --cabinet closed      or      --cabinet vented
"""


def form_text(file: str = "readings.toml") -> str:
    """The form, to be filled in at the bench.

    Parameters
    ----------
    file : str
        What it will be called, for the command in its head.

    Returns
    -------
    str
        TOML whose every entry is empty or a usual value.

    Examples
    --------
    >>> form_text("mine.toml").splitlines()[1]
    '#     boomwright identify readings mine.toml'
    """
    return _FORM.format(file=file)
