using System.Globalization;
using System.Text;
using HilRunner.Core.Recordings.Parquet;
using HilRunner.Inspection.Reading;
using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>
/// A made-up recording with nothing wrong: three classes in three segments of twelve seconds each, acceleration and turning rate, times
/// with a little jitter. Every defect is made of it by changing one thing, and goes through files as a real one would.
/// </summary>
internal sealed class GoodRecording
{
    public const double NoiseG = 0.003;
    public const int RateHz = 50, SegmentS = 12;
    private static readonly string[] s_classes = ["resting", "carried", "conveyed"];

    public required List<decimal> Times { get; set; }
    /// <summary>ax ay az gx gy gz.</summary>
    public required double[][] Channels { get; set; }
    public List<(decimal Start, decimal End, string Class)> Labels { get; } = [];
    public string Header { get; set; } = "t_s,ax_g,ay_g,az_g,gx_dps,gy_dps,gz_dps";
    public string Side { get; set; } = "rate: 50 Hz\nrange: 8 g\ninvented: true\n";
    /// <summary>Replaces whole lines of the data file, 0 = first sample; applied last.</summary>
    public Dictionary<int, string> Lines { get; } = [];
    public List<string> LabelLines { get; } = [];

    public static GoodRecording Build(int seed = 1, double conveyedHz = 12)
    {
        var random = new Random(seed);
        double Gauss() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        int segments = 9, count = segments * SegmentS * RateHz;
        var channels = new double[6][];
        for (int c = 0; c < 6; c++) { channels[c] = new double[count]; }
        var times = new List<decimal>(count);
        var good = new GoodRecording { Times = times, Channels = channels };
        for (int n = 0; n < count; n++)
        {
            double t = (double)n / RateHz;
            times.Add(decimal.Round((decimal)n / RateHz + (decimal)(0.0001 * (random.NextDouble() - 0.5)), 6));
            string name = s_classes[n / (SegmentS * RateHz) % 3];
            double step = name == "carried" ? Math.Sin(2 * Math.PI * 1.8 * t) : 0, sway = name == "carried" ? Math.Sin(2 * Math.PI * 0.9 * t) : 0;
            double belt = name == "conveyed" ? Math.Sin(2 * Math.PI * conveyedHz * t) : 0;
            double[] clean = [0.02 + 0.1 * sway + 0.05 * belt, -0.01 + 0.07 * sway, 1 + 0.25 * step + 0.15 * belt, 20 * sway, 5 * step, 0.3 * sway];
            for (int c = 0; c < 6; c++) { channels[c][n] = Math.Round(clean[c] + (c < 3 ? NoiseG : 0.1) * Gauss(), c < 3 ? 4 : 3); }
        }
        times[0] = 0;
        for (int i = 0; i < segments; i++) { good.Labels.Add((i * SegmentS, (i + 1) * SegmentS, s_classes[i % 3])); }
        return good;
    }

    public int IndexOf(double seconds) => (int)(seconds * RateHz);

    /// <summary>Changes the values of some channels in a stretch.</summary>
    public GoodRecording Change(double fromS, double toS, int[] channels, Func<double, int, double> change)
    {
        foreach (int c in channels) { for (int n = IndexOf(fromS); n < Math.Min(IndexOf(toS), Channels[c].Length); n++) { Channels[c][n] = change(Channels[c][n], n); } }
        return this;
    }

    public InspectedRecording Read()
    {
        using var folder = TestPaths.NewFolder();
        return InspectedFile.Read(Write(folder));
    }

    /// <summary>The same in one file; null where only text can hold the defect.</summary>
    public string? WriteParquet(TemporaryFolder folder)
    {
        if (Lines.Count > 0) { return null; }
        string path = folder.File("made.parquet");
        string[] names = Header.Split(',');
        bool time = names[0] == "t_s";
        using var table = new ParquetTable(path, [.. names.Select(n => (n, n == "t_s" ? NumberForm.Seconds : NumberForm.Double))]);
        for (int n = 0; n < Times.Count; n++)
        {
            int column = 0;
            if (time) { table.Cell(column++, Times[n].ToString(CultureInfo.InvariantCulture), 0); }
            foreach (double[] channel in Channels) { table.Cell(column++, [], channel[n]); }
            table.EndRow();
        }
        table.Complete(new Dictionary<string, string> { [ParquetMetadata.Side] = Side, [ParquetMetadata.Labels] = LabelText() });
        return path;
    }

    public string Write(TemporaryFolder folder)
    {
        string path = folder.File("made.csv");
        var text = new StringBuilder(Header).Append('\n');
        for (int n = 0; n < Times.Count; n++)
        {
            if (Lines.TryGetValue(n, out string? line)) { text.Append(line).Append('\n'); continue; }
            bool time = Header.StartsWith("t_s", StringComparison.Ordinal);
            if (time) { text.Append(CultureInfo.InvariantCulture, $"{Times[n]},"); }
            text.AppendJoin(',', Channels.Select(c => c[n].ToString("R", CultureInfo.InvariantCulture))).Append('\n');
        }
        File.WriteAllText(path, text.ToString());
        File.WriteAllText(folder.File("made.yaml"), Side);
        if (LabelText() is { Length: > 0 } labels) { File.WriteAllText(folder.File("made.labels.csv"), labels); }
        return path;
    }

    private string LabelText()
    {
        if (Labels.Count + LabelLines.Count == 0) { return ""; }
        var labels = new StringBuilder("start_s,end_s,class\n");
        foreach (var (start, end, name) in Labels) { labels.Append(CultureInfo.InvariantCulture, $"{start},{end},{name}\n"); }
        foreach (string line in LabelLines) { labels.Append(line).Append('\n'); }
        return labels.ToString();
    }
}
