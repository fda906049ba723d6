using BenchmarkDotNet.Running;
using HilRunner.Benchmarks.Comparing;
using HilRunner.Benchmarks.Histories;
using HilRunner.Benchmarks.Importing;
using HilRunner.Benchmarks.Links;
using HilRunner.Benchmarks.Nights;
using HilRunner.Benchmarks.Pacing;
using HilRunner.Benchmarks.Resampling;
using HilRunner.Benchmarks.Running;

namespace HilRunner.Benchmarks;

internal static class BenchmarkProgram
{
    private static int Main(string[] args)
    {
        switch (args)
        {
            case ["nothing"]: return 0;
            case ["links", .. var rest]: return LinkBenchmark.Run(rest);
            case ["running", .. var rest]: return RunBenchmark.Run(rest);
            case ["pacing", .. var rest]: return PacingBenchmark.Run(rest);
            case ["hil-beside-allocator", .. var rest]: return Allocator.RunHil(rest);
            case ["allocator"]: return Allocator.RunAlone();
            case ["import", .. var rest]: return ImportBenchmark.Run(rest);
            case ["resample", .. var rest]: return ResampleBenchmark.Run(rest);
            case ["history", .. var rest]: return HistoryBenchmark.Run(rest);
            case ["compare", .. var rest]: return CompareBenchmark.Run(rest);
            case ["night", .. var rest]: return NightBenchmark.Run(rest);
            default: return Others(args);
        }
    }

    /// <summary>Apart, so that the modes above do not load the library for it.</summary>
    private static int Others(string[] args)
    {
        BenchmarkSwitcher.FromAssembly(typeof(BenchmarkProgram).Assembly).Run(args);
        return 0;
    }
}
