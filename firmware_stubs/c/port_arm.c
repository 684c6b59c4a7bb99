/* Cortex-M3 port for the LM3S6965 evaluation board (also a machine of the QEMU emulator): the line on UART0 at 115200
 * baud, 8 MHz crystal. Start-up and vectors are here; the memory map is in port_arm.ld. Registers: LM3S6965 data sheet,
 * chapters System Control, General-Purpose Input/Outputs and UART. Non-volatile memory is RAM kept over a reset.
 */
#include "app.h"

#define REGISTER(address) (*(volatile uint32_t *)(address))
#define RCC REGISTER(0x400FE060)
#define RCGC1 REGISTER(0x400FE104)
#define RCGC2 REGISTER(0x400FE108)
#define GPIOA_AFSEL REGISTER(0x40004420)
#define GPIOA_DEN REGISTER(0x4000451C)
#define UART0_DR REGISTER(0x4000C000)
#define UART0_FR REGISTER(0x4000C018)
#define UART0_IBRD REGISTER(0x4000C024)
#define UART0_FBRD REGISTER(0x4000C028)
#define UART0_LCRH REGISTER(0x4000C02C)
#define UART0_CTL REGISTER(0x4000C030)
#define UART0_IM REGISTER(0x4000C038)
#define NVIC_ENABLE REGISTER(0xE000E100)
#define NVIC_UNPEND REGISTER(0xE000E280)
#define UART0_INTERRUPT (1u << 5)
#define IM_RECEIVED 0x50u /* bytes wait, or a byte has waited for 32 bit times */
#define FR_RXFE 0x10u /* nothing received */
#define FR_TXFF 0x20u /* no room to send */

extern uint32_t ld_data_start[], ld_data_end[], ld_data_flash[], ld_bss_start[], ld_bss_end[], ld_stack_top[];
int main(void);
void reset(void);

/* Not cleared at start-up: the byte, and its complement with a mark, so that the noise of power-up is not taken for it. */
static volatile uint32_t nv_cell __attribute__((section(".noinit")));
#define NV_MARK 0x554E4C00u

int nv_read(uint8_t *byte) {
    uint8_t kept = (uint8_t)nv_cell;
    int stored = (nv_cell ^ NV_MARK) >> 8 == (uint8_t)~kept;
    *byte = stored ? kept : 0;
    return stored;
}

int nv_write(uint8_t byte) {
    nv_cell = (NV_MARK ^ ((uint32_t)(uint8_t)~byte << 8)) | byte;
    return 0;
}

void port_put_byte(struct unlit_kit *kit, uint8_t byte) {
    (void)kit;
    while (UART0_FR & FR_TXFF) {
    }
    UART0_DR = byte;
}

int main(void) {
    RCC = 0x07800B80u; /* main oscillator, 8 MHz crystal, no PLL, no divider */
    RCGC1 = RCGC1 | 1u;
    RCGC2 = RCGC2 | 1u;
    GPIOA_AFSEL = GPIOA_AFSEL | 3u;
    GPIOA_DEN = GPIOA_DEN | 3u;
    UART0_IBRD = 4; /* 8 MHz / (16 * 115200) = 4 + 22/64 */
    UART0_FBRD = 22;
    UART0_LCRH = 0x70; /* 8 bits, FIFO on */
    UART0_CTL = 0x301; /* on, both ways */
    if (app_begin() != 0)
        return 1;
    /* Sleep until a byte comes: an interrupt that is masked still wakes the core (ARMv7-M manual, WFI). */
    __asm volatile("cpsid i");
    UART0_IM = IM_RECEIVED;
    NVIC_ENABLE = UART0_INTERRUPT;
    for (;;) {
        while (!(UART0_FR & FR_RXFE))
            unlit_byte(&app_kit, (uint8_t)UART0_DR);
        __asm volatile("wfi");
        NVIC_UNPEND = UART0_INTERRUPT;
    }
}

void reset(void) {
    uint32_t *from = ld_data_flash, *to;
    for (to = ld_data_start; to < ld_data_end;)
        *to++ = *from++;
    for (to = ld_bss_start; to < ld_bss_end;)
        *to++ = 0;
    (void)main();
    for (;;) {
    }
}

static void halt(void) {
    for (;;) {
    }
}

/* Stack, reset, and the faults up to SysTick. */
__attribute__((section(".vectors"), used)) static void (*const vectors[16])(void) = {
    (void (*)(void))(uintptr_t)ld_stack_top, reset, halt, halt, halt, halt, halt,
};
