"""What the numbers of the panel mean: places of the channels, defaults, bounds, degrees."""

LIQUOR = 0
COIL_OUTLET = 1
PUMP_INLET = 2
LIMIT = 3
FLAME = 4
FLOW = 5
RUN = 6
RESET = 7
ESTOP = 8
MODE = 9
LIQUOR_SETPOINT = 10
MASH_SETPOINT = 11
MANUAL = 12
MANUAL_DUTY = 13
CYCLE_TIME = 14
MASH_PROBE = 15
STEP1_SETPOINT = 16

INPUTS = 32

MODE_LIQUOR = 0
MODE_MASH = 1
MODE_PROGRAM = 2
MODE_CALIBRATION = 3

SETPOINT_MOST = 90000
CYCLE_LEAST_MS = 4000
CYCLE_MOST_MS = 120000
CYCLE_USUAL_MS = 30000
# Above every set point in either degree; keeps the arithmetic inside 32 bits.
PANEL_MOST = 300000


def setpoint_of(value, fahrenheit):
    """Set point [m°C] from the panel's value in thousandths of its own degree; 0: none."""
    if value is None or value < 50:
        return 0
    tenths = (min(value, PANEL_MOST) + 50) // 100 * 100
    if fahrenheit:
        tenths -= 32000
        if tenths <= 0:
            return 0
        tenths = (10 * tenths + 9) // 18
    return min(tenths, SETPOINT_MOST)


def cycle_of(value):
    """Cycle time [ms] from the panel's value."""
    if value is None:
        return CYCLE_USUAL_MS
    if value < CYCLE_LEAST_MS:
        return CYCLE_LEAST_MS
    return min(value, CYCLE_MOST_MS)


def duty_of(value):
    """Duty [permille] from the panel's value."""
    if value is None or value < 0:
        return 0
    return min(value, 1000)
