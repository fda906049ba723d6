using BenchmarkDotNet.Running;
using HilRunner.Benchmarks.Links;

namespace HilRunner.Benchmarks;

internal static class BenchmarkProgram
{
    private static int Main(string[] args)
    {
        if (args is ["links", .. var rest]) { return LinkBenchmark.Run(rest); }
        BenchmarkSwitcher.FromAssembly(typeof(BenchmarkProgram).Assembly).Run(args);
        return 0;
    }
}
