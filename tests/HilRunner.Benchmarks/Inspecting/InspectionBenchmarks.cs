using System.Globalization;
using BenchmarkDotNet.Attributes;
using HilRunner.Core.Recordings;
using HilRunner.Inspection;
using HilRunner.Inspection.Reading;

namespace HilRunner.Benchmarks.Inspecting;

/// <summary>A recording of three axes with times at 1 kHz: reading it leniently, every check; the strict reader is the baseline.</summary>
[Config(typeof(ShortInProcess))]
public class InspectionBenchmarks
{
    private const int Seed = 7;
    private string _folder = "", _path = "";
    private InspectedRecording _recording = null!;

    [Params(1_000_000, 10_000_000)]
    public int Samples { get; set; }

    [GlobalSetup]
    public void SetUp()
    {
        _folder = Directory.CreateTempSubdirectory("hil-inspection-").FullName;
        _path = Path.Combine(_folder, "long.csv");
        var random = new Random(Seed);
        using (var writer = new StreamWriter(_path))
        {
            writer.WriteLine("t_s,ax_g,ay_g,az_g");
            for (int n = 0; n < Samples; n++)
            {
                writer.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{n / 1000m},{random.Next(-9, 9) / 1000m},{random.Next(-9, 9) / 1000m},{random.Next(991, 1009) / 1000m}"));
            }
        }
        File.WriteAllText(Path.Combine(_folder, "long.yaml"), "rate: 1 kHz\n");
        _recording = InspectedFile.Read(_path);
    }

    [GlobalCleanup]
    public void CleanUp() => Directory.Delete(_folder, recursive: true);

    [Benchmark(Baseline = true)]
    public int StrictReader() => RecordingFile.Read(_path).SampleCount;

    [Benchmark]
    public int LenientReader() => InspectedFile.Read(_path).SampleCount;

    [Benchmark]
    public int EveryCheck() => Inspector.Inspect(_recording).Checks.Count;
}
