using BenchmarkDotNet.Attributes;
using HilRunner.Core.Capture;
using HilRunner.Core.Time;
using HilRunner.Transport.Capture;

namespace HilRunner.Benchmarks.Decoding;

/// <summary>
/// A capture of 10 000 records of 32 bytes, stamped 1 ms apart, so that it is flushed every 50 records; begun, written and removed in each call, so
/// that the disk never holds more than one.
/// </summary>
[Config(typeof(ShortInProcess))]
public class CaptureBenchmarks
{
    private const int Records = 10_000;
    private readonly byte[] _bytes = new byte[32];
    private readonly HostClock _clock = new(TimeProvider.System);
    private string _folder = "";

    [GlobalSetup]
    public void Setup() => _folder = Directory.CreateTempSubdirectory("hil-bench-").FullName;

    [GlobalCleanup]
    public void Cleanup() => Directory.Delete(_folder, recursive: true);

    [Benchmark(OperationsPerInvoke = Records)]
    public void Append()
    {
        string path = Path.Combine(_folder, "link.pcapng");
        using (ICaptureWriter writer = new CaptureStore().Create(path, _clock))
        {
            for (int i = 0; i < Records; i++) { writer.Bytes(CaptureKind.FromDevice, new(i * 1_000_000L), _bytes); }
        }
        File.Delete(path);
    }
}
