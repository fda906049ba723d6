// Most of these wait for programs, ports and time limits rather than for a processor.
[assembly: LevelOfParallelism(6)]
[assembly: HilRunner.Testing.AwaitsRoom]
