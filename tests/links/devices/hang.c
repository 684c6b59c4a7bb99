/* Firmware that does nothing for ever. */
#ifdef __AVR__
int main(void) {
    for (;;) {
    }
}
#else
void reset(void);
void reset(void) {
    for (;;) {
    }
}
__attribute__((section(".vectors"), used)) void *const vectors[16] = {(void *)0x20001000, (void *)reset};
#endif
