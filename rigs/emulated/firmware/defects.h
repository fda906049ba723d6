// Deliberate defects, compiled in by name (rigs/emulated/build --defect NAME), so that the tool can be shown to find each.
// Four more stand where they strike: threshold, window and count in model.c, clock in clock.c; the small ring of reset is in uart.c.
// Firmware that takes these files over does not define DELIBERATE_DEFECTS, and nothing of it is left.
#ifndef DEFECTS_H
#define DEFECTS_H

#ifdef DELIBERATE_DEFECTS

// Busy work for --think: between consuming the sample that decides and making the decision.
void think(void);

// leak: memory taken for each sample and never given back.
void defect_on_sample(void);

// slow: a self-test before each report.
void defect_before_report(void);

// reset: each decision is then written to memory that is slow to write.
void defect_after_report(void);

#else

#define think() ((void)0)
#define defect_on_sample() ((void)0)
#define defect_before_report() ((void)0)
#define defect_after_report() ((void)0)

#endif

#endif
