using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Toolchains.InProcess.Emit;

namespace HilRunner.Benchmarks;

/// <summary>
/// A few short iterations in this process, with memory counted. In this process, because a project generated beneath tests/ would fall under
/// the house's build rules.
/// </summary>
public sealed class ShortInProcess : ManualConfig
{
    public ShortInProcess()
    {
        AddJob(Job.ShortRun.WithToolchain(InProcessEmitToolchain.Instance));
        AddDiagnoser(MemoryDiagnoser.Default);
    }
}
