/* The reference controller's core.
 * One step: times passed, probes, reset, faults, start and stop, calibration, loops, burner, outputs. */
#include "controller.h"

#define BIT(fault) ((uint16_t)(1u << (fault)))

#define LOCKOUTS (BIT(FAULT_FLAME_LOST) | BIT(FAULT_NO_FLAME) | BIT(FAULT_STRAY_FLAME))
#define PUMP_OFF (BIT(FAULT_NO_FLOW) | BIT(FAULT_SILENT) | BIT(FAULT_STOPPED))
/* Faults 5 to 8 survive a power cut: bits 0 to 3 of the non-volatile byte; bits 4 to 7 are their complement, and
 * anything else is damaged. 0: never stored. */
#define NV_SHIFT 5
#define NV_BITS 0x0F

/* Number of the lowest fault that stands, 0 for none. */
static uint8_t lowest(uint16_t faults)
{
    uint8_t number = 0;
    if (faults != 0) {
        while (!(faults & BIT(number))) {
            number++;
        }
    }
    return number;
}

static uint8_t nv_of(uint16_t faults)
{
    uint8_t latched = (faults >> NV_SHIFT) & NV_BITS;
    return (uint8_t)(latched | ((latched ^ NV_BITS) << 4));
}

static uint16_t latched_in(uint8_t nv)
{
    uint8_t latched = nv & NV_BITS;
    if (nv == 0 || nv >> 4 == (latched ^ NV_BITS)) {
        return (uint16_t)((uint16_t)latched << NV_SHIFT);
    }
    return BIT(FAULT_NV_DAMAGED);
}

static uint8_t difference(struct controller *c, uint8_t place, int16_t value, uint8_t bit)
{
    uint8_t changed = c->outputs[place] != value ? bit : 0;
    c->outputs[place] = value;
    return changed;
}

static void put_out(struct controller *c, int16_t duty)
{
    uint8_t stage = c->faults & LOCKOUTS ? CONTROLLER_LOCKOUT_STAGE : c->burner.stage;
    if (!(c->faults & BIT(c->fault))) {
        c->fault = lowest(c->faults);
    }
    c->changed = (uint8_t)(difference(c, OUT_FAULT, c->fault, CONTROLLER_FAULT_CHANGED) |
                           difference(c, OUT_STAGE, stage, CONTROLLER_STAGE_CHANGED) |
                           difference(c, OUT_STEP, c->program.step, CONTROLLER_STEP_CHANGED));
    c->outputs[OUT_GAS_VALVE] = c->burner.stage >= BURNER_TRIAL;
    c->outputs[OUT_IGNITER] = c->burner.stage == BURNER_TRIAL;
    c->outputs[OUT_PUMP] = c->pump;
    c->outputs[OUT_ALARM] = c->faults != 0;
    c->outputs[OUT_DUTY] = duty;
    if (c->calibration.changed) {
        c->changed |= CONTROLLER_CALIBRATION_CHANGED;
    }
    c->nv = c->faults & BIT(FAULT_NV_DAMAGED) ? CONTROLLER_NV_DAMAGED : nv_of(c->faults);
}

void controller_init(struct controller *c, const struct controller_config *config, bool fahrenheit, uint32_t now_ms,
                     uint8_t nv, bool power_cut)
{
    uint8_t place;
    c->config = config;
    c->fahrenheit = fahrenheit;
    c->now_ms = now_ms;
    for (place = 0; place < 4; place++) {
        probe_init(&c->probes[place]);
    }
    stillness_init(&c->stillness);
    burner_init(&c->burner, power_cut);
    loops_init(&c->loops);
    program_stop(&c->program);
    calibration_init(&c->calibration);
    c->faults = latched_in(nv);
    c->fault = FAULT_NONE;
    c->started = false;
    /* A `run` that is 1 after a power cut is no start; a `reset` that is 1 from the first is no reset. */
    c->run_was = power_cut;
    c->reset_was = true;
    c->believed = false;
    c->pump = false;
    c->pump_ms = 0;
    c->flow = false;
    c->flow_ms = 0;
    for (place = 0; place < CONTROLLER_OUTPUTS; place++) {
        c->outputs[place] = 0;
    }
    put_out(c, 0);
}

static uint16_t watch_probes(struct controller *c, int32_t passed_ms, const int32_t *inputs, int32_t mode)
{
    const struct controller_config *config = c->config;
    uint16_t found = BIT(probe_step(&c->probes[IN_LIQUOR], config, passed_ms, inputs[IN_LIQUOR]));
    uint16_t of_mash = BIT(probe_step(&c->probes[IN_COIL_OUTLET], config, passed_ms, inputs[IN_COIL_OUTLET]));
    uint8_t of_limit;
    of_mash |= BIT(probe_step(&c->probes[IN_PUMP_INLET], config, passed_ms, inputs[IN_PUMP_INLET]));
    of_limit = probe_step(&c->probes[IN_LIMIT], config, passed_ms, inputs[IN_LIMIT]);
    c->believed = c->probes[IN_LIQUOR].reads && c->probes[IN_LIMIT].reads;
    if (mode == MODE_MASH || mode == MODE_CALIBRATION ||
        (mode == MODE_PROGRAM && c->program.step != PROGRAM_HANDED_OVER)) {
        found |= of_mash;
        c->believed = c->believed && c->probes[IN_COIL_OUTLET].reads && c->probes[IN_PUMP_INLET].reads;
    }
    if (of_limit != FAULT_NONE || inputs[IN_LIMIT] >= config->limit_trip) {
        found |= BIT(of_limit) | BIT(FAULT_HIGH_LIMIT);
    }
    return found & (uint16_t)~BIT(FAULT_NONE);
}

/* Count the pump's and the flow's times; 1 if the flow is missing too long. */
static bool watch_flow(struct controller *c, int32_t passed_ms, bool flow)
{
    if (!c->pump) {
        c->pump_ms = 0;
        c->flow_ms = 0;
        c->flow = false;
        return false;
    }
    c->pump_ms = timer_after(c->pump_ms, passed_ms);
    c->flow_ms = flow == c->flow ? timer_after(c->flow_ms, passed_ms) : 0;
    c->flow = flow;
    return !flow && c->flow_ms >= c->config->flow_lost_ms && c->pump_ms >= c->config->pump_start_ms;
}

/* Faults found now, a bit each. */
static uint16_t watch(struct controller *c, int32_t passed_ms, const int32_t *inputs, int32_t mode, uint32_t quiet_ms)
{
    uint16_t found = watch_probes(c, passed_ms, inputs, mode);
    bool heating = c->burner.stage == BURNER_RUN;
    if (c->probes[IN_LIQUOR].reads && c->probes[IN_LIMIT].reads &&
        stillness_step(&c->stillness, c->config, passed_ms, inputs[IN_LIQUOR], inputs[IN_LIMIT], heating)) {
        found |= BIT(FAULT_PROBE_FROZEN);
    }
    if (burner_watch(&c->burner, c->config, passed_ms, inputs[IN_FLAME])) {
        found |= BIT(FAULT_STRAY_FLAME);
    }
    if (watch_flow(c, passed_ms, panel_is_on(inputs[IN_FLOW]))) {
        found |= BIT(FAULT_NO_FLOW);
    }
    if (quiet_ms >= (uint32_t)c->config->silence_ms) {
        found |= BIT(FAULT_SILENT);
    }
    if (panel_is_on(inputs[IN_ESTOP])) {
        found |= BIT(FAULT_STOPPED);
    }
    return found;
}

static void reset(struct controller *c, const int32_t *inputs)
{
    bool now = panel_is_on(inputs[IN_RESET]);
    if (now && !c->reset_was && c->faults != 0) {
        bool cool = c->probes[IN_LIMIT].reads && inputs[IN_LIMIT] < c->config->limit_reset;
        c->faults = cool ? 0 : (uint16_t)(c->faults & BIT(FAULT_HIGH_LIMIT));
        c->started = false;
        c->burner.tries = 0;
        c->run_was = true;
    }
    c->reset_was = now;
}

static void start_stop(struct controller *c, int32_t run)
{
    if (!panel_is_on(run)) {
        c->started = false;
        if (run == 0) {
            c->run_was = false;
        }
    } else {
        if (!c->run_was && c->faults == 0) {
            c->started = true;
        }
        c->run_was = true;
    }
    if (c->faults & PUMP_OFF) {
        c->started = false;
    }
}

static void follow_program(struct controller *c, int32_t passed_ms, const int32_t *inputs)
{
    bool counts = c->believed && !c->order.manual && c->faults == 0;
    c->order.setpoint =
        program_follow(&c->program, c->config, passed_ms, inputs, c->fahrenheit, c->order.measured, counts);
    c->order.kind = c->program.step == PROGRAM_HANDED_OVER ? LOOP_LIQUOR : LOOP_MASH;
}

/* Fill the order but for its permit; the pump follows the loop. */
static void choose_loop(struct controller *c, int32_t passed_ms, const int32_t *inputs, int32_t mode)
{
    struct loops_order *order = &c->order;
    order->manual = panel_is_on(inputs[IN_MANUAL]);
    order->place = inputs[IN_MASH_PROBE] == 1;
    order->measured = inputs[IN_COIL_OUTLET + order->place];
    order->kind = LOOP_NONE;
    order->setpoint = 0;
    order->gains = calibration_gains(&c->calibration, c->config, order->place);
    if (!c->started || mode != MODE_PROGRAM) {
        program_stop(&c->program);
    }
    if (c->started) {
        if (mode == MODE_LIQUOR) {
            order->kind = LOOP_LIQUOR;
        } else if (mode == MODE_MASH) {
            order->kind = LOOP_MASH;
            order->setpoint = panel_setpoint(inputs[IN_MASH_SETPOINT], c->fahrenheit);
        } else if (mode == MODE_PROGRAM) {
            follow_program(c, passed_ms, inputs);
        } else if (mode == MODE_CALIBRATION) {
            order->kind = order->manual ? LOOP_MASH : LOOP_CALIBRATION;
        }
    }
    if (order->kind == LOOP_LIQUOR) {
        order->setpoint = panel_setpoint(inputs[IN_LIQUOR_SETPOINT], c->fahrenheit);
    }
    c->pump = order->kind >= LOOP_MASH;
}

/* Its duty is proportioned and bounded as one set by hand. */
static void calibrate(struct controller *c, int32_t passed_ms, const int32_t *inputs)
{
    struct loops_order *order = &c->order;
    struct calibration_view view;
    view.asked = order->kind == LOOP_CALIBRATION;
    view.fault = c->faults != 0;
    view.over = c->loops.over;
    view.believed = c->believed;
    view.open = c->burner.stage >= BURNER_TRIAL;
    view.flame = panel_is_on(inputs[IN_FLAME]);
    view.place = order->place;
    view.trial_ms = c->burner.stage == BURNER_TRIAL ? c->burner.trial_ms : 0;
    view.measured = order->measured;
    calibration_step(&c->calibration, c->config, passed_ms, &view);
    order->manual = order->manual || view.asked;
}

/* 1 if the active loop wants heat; the permit is in the order. */
static bool run_loop(struct controller *c, int32_t passed_ms, const int32_t *inputs)
{
    struct loops_order *order = &c->order;
    order->permitted = false;
    if (order->kind == LOOP_NONE || c->faults != 0 || (order->setpoint == 0 && !order->manual)) {
        loops_rest(&c->loops, passed_ms);
        return false;
    }
    order->permitted = c->believed && (!c->pump || (c->flow && c->flow_ms >= c->config->flow_settle_ms));
    order->believed = c->believed;
    order->liquor = inputs[IN_LIQUOR];
    order->manual_duty = panel_duty(inputs[IN_MANUAL_DUTY]);
    order->cycle_ms = panel_cycle_ms(inputs[IN_CYCLE_TIME]);
    if (order->kind == LOOP_CALIBRATION) {
        order->manual_duty = c->calibration.duty;
        order->cycle_ms = c->config->cal_cycle_ms;
    }
    return loops_step(&c->loops, c->config, passed_ms, order);
}

void controller_step(struct controller *c, uint32_t now_ms, uint32_t quiet_ms, const int32_t *inputs)
{
    uint32_t passed = now_ms - c->now_ms;
    int32_t passed_ms = passed > (uint32_t)TIMER_LONGEST_MS ? TIMER_LONGEST_MS : (int32_t)passed;
    int32_t mode = inputs[IN_MODE] == CONTROLLER_NO_READING ? MODE_LIQUOR : inputs[IN_MODE];
    uint16_t found;
    bool wanted;
    uint8_t fault;
    c->now_ms = now_ms;
    found = watch(c, passed_ms, inputs, mode, quiet_ms);
    reset(c, inputs);
    c->faults |= found;
    start_stop(c, inputs[IN_RUN]);
    choose_loop(c, passed_ms, inputs, mode);
    calibrate(c, passed_ms, inputs);
    wanted = run_loop(c, passed_ms, inputs);
    fault = burner_step(&c->burner, c->config, passed_ms, wanted, c->order.permitted);
    if (fault != FAULT_NONE) {
        c->faults |= BIT(fault);
    }
    put_out(c, fault == FAULT_NONE && c->order.permitted && !c->loops.over ? c->loops.duty : 0);
}
