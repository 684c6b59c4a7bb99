/* Firmware that meets an instruction its chip does not have. */
#ifdef __AVR__
int main(void) {
    __asm volatile(".word 0xFFFF");
    for (;;) {
    }
}
#else
void reset(void);
void reset(void) {
    __asm volatile("udf #0");
    for (;;) {
    }
}
__attribute__((section(".vectors"), used)) void *const vectors[16] = {(void *)0x20001000, (void *)reset};
#endif
