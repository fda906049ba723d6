using System.Globalization;
using System.Text.Json;
using HilRunner.Cli.Tests;
using HilRunner.Core.Models;
using HilRunner.Core.Numerics;
using HilRunner.Emulated.Tests.Models;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// A customer's log of an hour, made of open recordings of people in columns and units unlike ours, and <c>hil reproduce</c> of
/// it.
/// </summary>
public abstract class CustomersHour
{
    private const string ModelPath = "scenarios/open-data/model.yaml";
    private const int Samples = 3600 * 50;
    private TemporaryFolder _folder = null!;
    private MotionModel _model = null!;
    private int[][] _hour = [];

    private protected TemporaryFolder Folder => _folder;
    private protected MotionModel Model => _model;
    /// <summary>By channel, 50 Hz, 1 mg per count.</summary>
    private protected int[][] Hour => _hour;

    [OneTimeSetUp]
    public void MakeTheHour()
    {
        _folder = TestPaths.NewFolder("reproduce-emulated");
        _model = MotionModel.Read(Path.Combine(TestPaths.Root, ModelPath));
        string first = TestPaths.OpenData("activity/acc_exp01_user01.txt");
        // One set is in g, the other in m/s²; what is beyond the device's range of 8 g is cut off there.
        double[][] rows = [.. Rows(Path.GetDirectoryName(first)!, 1),
            .. Rows(Path.Combine(Path.GetDirectoryName(first)!, "..", "activity-pocket"), 1 / Gravity.Standard)];
        Assert.That(rows, Has.Length.GreaterThan(Samples));
        _hour = [.. Enumerable.Range(0, 3)
            .Select(c => rows.Take(Samples).Select(r => (int)Math.Clamp(Math.Round(r[c] * 1000), -8000, 8000)).ToArray())];
    }

    [OneTimeTearDown]
    public void Remove() => _folder.Dispose();

    private protected (int Code, JsonElement Json, string Errors) Reproduce(string log, string rig, params string[] arguments)
    {
        string[] plays = arguments.Contains("--plays")
            ? [] : ["--plays", "4"], host = arguments.Contains("--host-program") ? [] : ["--host-model", ModelPath];
        var result = Hil.Run(
            ["reproduce", log, "--columns", "t,ax,ay,az,label", "--time", "ms", "--acceleration", "m/s2",
                "--decimal", "comma", "--rig", rig, .. host, "--out", _folder.File("cases"), "--json", .. plays, .. arguments]);
        Assert.That(result.Output, Does.StartWith("{"), result.Errors);
        return (result.Code, JsonDocument.Parse(result.Output).RootElement, result.Errors);
    }

    /// <summary>
    /// Milliseconds since the logger was started, m/s² with a decimal comma, and what the device said, parted by tabs.
    /// </summary>
    private protected string WriteLog(string name, IReadOnlyList<Reported> said)
    {
        string path = _folder.File(name + ".tsv");
        if (File.Exists(path)) { return path; }
        using var log = new StreamWriter(path);
        log.WriteLine("uptime\tX\tY\tZ\tstate");
        int next = 0;
        string state = "unknown";
        for (int n = 0; n < _hour[0].Length; n++)
        {
            for (; next < said.Count && said[next].N <= n; next++) { state = said[next].Class; }
            log.Write(1_000_000 + 20 * n);
            foreach (int[] channel in _hour)
            {
                log.Write("\t" + (channel[n] * Gravity.Standard / 1000).ToString("0.00000", CultureInfo.InvariantCulture)
                    .Replace('.', ','));
            }
            log.WriteLine("\t" + state);
        }
        return path;
    }

    private static IEnumerable<double[]> Rows(string folder, double scale) =>
        Directory.GetFiles(folder, "acc_*.txt").Order(StringComparer.Ordinal).SelectMany(File.ReadLines)
        .Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries)
            .Select(f => scale * double.Parse(f, CultureInfo.InvariantCulture)).ToArray());
}
