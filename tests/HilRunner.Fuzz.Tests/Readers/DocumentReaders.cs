using System.Text;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Documents;
using HilRunner.Core.Models;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Sweeps;
using HilRunner.Fuzz.Tests.Running;

namespace HilRunner.Fuzz.Tests.Readers;

/// <summary>What people write in YAML.</summary>
internal static class DocumentReaders
{
    public static IReadOnlyList<Reader> All { get; } = [.. Each, AnyOf(Each)];

    private static IReadOnlyList<Reader> Each =>
    [
        Of("rig", _ => Stock.Matching("rigs", "*.yaml", t => Begins(t, "rig:"))
            .Concat(DeviceReaders.MoreRigs), path => _ = RigFile.Read(path)),
        new("scenario", Form.Yaml, _ => Stock.Matching("scenarios", "*.yaml", t => Begins(t, "scenario:"))
            .Append(Utf8(Everything)), (stock, folder) =>
        {
            Rig rig = RigFile.Read(stock.Rig);
            string path = Path.Combine(folder, "case.yaml");
            // As it is kept in a run its files need not be there, so that more of it is looked at.
            return bytes =>
            {
                File.WriteAllBytes(path, bytes);
                _ = ScenarioFile.Parse(DocumentReader.ReadText(path), path);
                _ = ScenarioFile.Read(path, rig);
            };
        }),
        Of("suite", _ => Stock.Matching("scenarios", "*.yaml", t => Begins(t, "suite:")), path => _ = SuiteFile.Read(path)),
        Of("acceptance plan", _ => Stock.Matching("scenarios", "*.yaml", t => Begins(t, "acceptance:")),
            path => _ = AcceptancePlanFile.Read(path)),
        Of("sweep plan", _ => Stock.Matching("scenarios", "*.yaml", t => Begins(t, "sweep:")),
            path => _ = SweepPlanFile.Read(path)),
        Of("import map", _ => Stock.Matching("scenarios", "*.yaml", t => Begins(t, "import:")),
            path => _ = ImportMapFile.Read(path)),
        Of("limits",
            _ => [Utf8("limits:\n  - {measure: missed, at_most: 0}\n  - {measure: reaction, class: carried, statistic: p95, at_most: 3 s, confidence: 0.9}\n")], path => _ = LimitsFile.Read(path)),
        Of("transforms",
            _ => [Utf8("- rotate: {x: 90 deg, z: 30 deg}\n- noise: 2 mg\n- scale: 1.1\n"),
                Utf8("- filter: {lowpass: 20 Hz}\n- stretch: 1.2\n")], path => _ = TransformList.Read(path)),
        Of("model", _ => Stock.Matching("scenarios", "model.yaml", _ => true), path => _ = MotionModel.Read(path)),
        new("side file", Form.Yaml, _ => Stock.Matching("scenarios", "*.yaml", t => Begins(t, "rate:")), (stock, folder) =>
        {
            File.Copy(stock.File("short.csv"), Path.Combine(folder, "case.csv"));
            return bytes =>
            {
                File.WriteAllBytes(Path.Combine(folder, "case.yaml"), bytes);
                _ = RecordingFile.Read(Path.Combine(folder, "case.csv"));
            };
        }),
    ];

    private const string Everything = """
        scenario: everything
        stimulus:
          - play: recordings/morning.csv
            from: 1 s
            to: 9 s
            mirror: [x]
            rotate: {x: 90 deg, z: 30 deg}
            scale: {ax: 1.02}
            offset: {ax: 20 mg}
            stretch: 1.1
            mix: {with: recordings/belt.csv, gain: 0.5, at: 1 s}
            filter: {lowpass: 20 Hz}
            noise: 2 mg
            dropouts: {share: 2 %, length: 200 ms}
          - synth: {rest: 2 s, up: -x, class: resting}
          - synth: {sweep: {from: 5 Hz, to: 20 Hz}, peak: 0.3 g, axis: z, for: 2 min, class: conveyed}
          - synth: {random: {from: 5 Hz, to: 20 Hz, rms: 0.1 g}, axis: x, for: 30 s, class: conveyed}
          - synth: {impact: 11 ms, peak: 50 g, axis: z, for: 1 s, class: landing}
        vary:
          sample: {count: 4, seed: 2, scale: 0.8 to 1.2, noise: 0 mg to 20 mg}
        unscored: [handled]
        events: [dropped]
        lead: 3 s
        grace: 2 s
        within: 4 s
        limits:
          - {measure: balanced_accuracy, at_least: 0.95}
        """;

    /// <summary>Whatever the first key says that it is: for what is spliced from several.</summary>
    private static Reader AnyOf(IReadOnlyList<Reader> each) =>
        new("any document", Form.Yaml, stock => each.SelectMany(r => r.Seeds(stock)), (stock, folder) =>
    {
        var open = each.ToDictionary(
            r => r.Name.Split(' ')[0], r => r.Open(stock, Directory.CreateDirectory(Path.Combine(folder, r.Name)).FullName));
        var words = new Dictionary<string, string> { ["rate"] = "side",
            ["range"] = "side", ["acceptance"] = "acceptance", ["-"] = "transforms" };
        return bytes =>
        {
            string first = Encoding.UTF8.GetString(bytes.AsSpan(0, Math.Min(bytes.Length, 200)))
                .Split('\n').FirstOrDefault(l => l.Length > 0 && l[0] != '#') ?? "";
            string word = first.Split([':', ' '], 2)[0];
            open.GetValueOrDefault(words.GetValueOrDefault(word, word), open["model"])(bytes);
        };
    });

    public static byte[] Utf8(string text) => Encoding.UTF8.GetBytes(text);

    private static bool Begins(string text, string key) =>
        text.Split('\n').FirstOrDefault(l => l.Length > 0 && l[0] != '#')?.StartsWith(key, StringComparison.Ordinal) == true;

    private static Reader Of(string name, Func<Stock, IEnumerable<byte[]>> seeds, Action<string> read) =>
        new(name, Form.Yaml, seeds, (_, folder) =>
    {
        string path = Path.Combine(folder, "case.yaml");
        // The scenarios that suites and plans name.
        foreach (string file in Directory.EnumerateFiles(Stock.Checkout("scenarios"), "*.yaml", SearchOption.AllDirectories))
        {
            File.Copy(file, Path.Combine(folder, Path.GetFileName(file)), overwrite: true);
        }
        return bytes =>
        {
            File.WriteAllBytes(path, bytes);
            read(path);
        };
    });
}
