// The parallel ones wait for tables in real time rather than for a processor.
[assembly: LevelOfParallelism(6)]
[assembly: HilRunner.Testing.AwaitsRoom]
