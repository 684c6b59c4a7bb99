"""The application of the dialogue tests in Python: the same as c/dialogue_app.c."""

INPUTS = (("probe", "mdegC"), ("run", "bool"), ("a234567890123456789012_4", "adc10"))
OUTPUTS = (("heat", "bool"), ("duty", "permille"), ("copy", "count"))
HEAT, DUTY, COPY = range(3)
PROBE, RUN = range(2)


def held(ms):
    """A time as a value, which has a bit less."""
    return min(ms, 0x7FFFFFFF)


class DialogueApp:
    """Shows on the line what the kit gives to firmware."""

    def on_go(self, kit):
        self.steps = 0
        kit.set_output(DUTY, 250)
        kit.say("go")

    def on_back(self, kit):
        self.steps = 0
        kit.say("back")

    def on_end(self, kit):
        kit.set_output(DUTY, 999)
        kit.say("running at end" if kit.running else "end")

    def on_step(self, kit):
        self.steps += 1
        kit.set_output(HEAT, kit.input_on(RUN))
        kit.set_output(DUTY, self.steps)
        kit.set_output(COPY, kit.input(PROBE))
        if kit.quiet_ms() > 1000:
            kit.tell("quiet", held(kit.quiet_ms()))

    def on_type(self, kit, text):
        word, _, rest = text.partition(" ")
        if word == "say" and rest:
            kit.say(rest)
        elif word == "tell" and rest:
            kit.tell(rest, kit.input(PROBE))
        elif word == "poll" and rest:
            kit.poll(int(rest))
        elif word == "copy" and rest:
            kit.set_output(COPY, int(rest))
        elif text == "clock":
            kit.tell("clock", held(kit.millis()))
        elif text == "quiet":
            kit.tell("quiet", held(kit.quiet_ms()))
        else:
            return 0
        return 2
