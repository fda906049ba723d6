using BenchmarkDotNet.Running;

namespace HilRunner.Benchmarks;

internal static class BenchmarkProgram
{
    private static void Main(string[] args) => BenchmarkSwitcher.FromAssembly(typeof(BenchmarkProgram).Assembly).Run(args);
}
