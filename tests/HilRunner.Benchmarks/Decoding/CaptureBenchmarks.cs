using BenchmarkDotNet.Attributes;
using HilRunner.Core.Capture;
using HilRunner.Core.Time;
using HilRunner.Transport.Capture;

namespace HilRunner.Benchmarks.Decoding;

/// <summary>Appending to a capture: 10 000 records of 32 bytes a call, stamped 1 ms apart, so that it is flushed every 50 records.</summary>
[ShortRunJob]
[MemoryDiagnoser]
public class CaptureBenchmarks
{
    private const int Records = 10_000;
    private readonly byte[] _bytes = new byte[32];
    private string _folder = "";
    private ICaptureWriter _writer = null!;
    private long _ns;

    [GlobalSetup]
    public void Setup()
    {
        _folder = Directory.CreateTempSubdirectory("hil-bench-").FullName;
        _writer = new CaptureStore().Create(Path.Combine(_folder, "link.pcapng"), new HostClock(TimeProvider.System));
    }

    [GlobalCleanup]
    public void Cleanup()
    {
        _writer.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    [Benchmark(OperationsPerInvoke = Records)]
    public void Append()
    {
        for (int i = 0; i < Records; i++) { _writer.Bytes(CaptureKind.FromDevice, new(_ns += 1_000_000), _bytes); }
    }
}
