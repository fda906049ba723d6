using CsCheck;
using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Core.Tests.Rigs;
using HilRunner.Core.Tests.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Runs;

internal sealed class RunManifestFileTests
{
    private static RunManifest Full => Minimal("a scenario\n", "a rig\n") with
    {
        Ended = new DateTimeOffset(2026, 11, 25, 9, 0, 1, 234, TimeSpan.FromHours(1)).AddTicks(5_678),
        Complete = true,
        EndCause = "completed",
        Suite = "nightly",
        Repeat = 3,
        Seed = ulong.MaxValue,
        Variation = new("carried, then dropped", Sampled: true, [new(VariedParameter.Of("rotate.x"), -22.5m), new(VariedParameter.Of("scale"), 0.8m), new(VariedParameter.Of("noise"), 12.345m)]),
        Build = new("1.2.3-rc1", "build/tag.bin", new string('a', 64)),
        Identity = new Dictionary<string, string> { ["product"] = "tag", ["version"] = "1.0", ["slot"] = "" },
        Clipped = [0, 12, 0],
        Sources = [new("recordings/a.csv", new string('b', 64), new RecordingInfo { Rate = new SampleRate(33_333), RangeG = 7.9, Source = "person 1", Mounting = "waist: left", Provenance = "made", Licence = "CC0", Invented = true }),
            new("recordings/b.csv", new string('c', 64), new RecordingInfo())],
    };

    private static RunManifest Minimal(string scenario, string rig) => new()
    {
        Id = "2026-11-25T08-53-37Z-01",
        Started = new DateTimeOffset(2026, 11, 25, 8, 53, 37, TimeSpan.Zero).AddTicks(1),
        ToolVersion = "0.1.0",
        Host = "bench host, 2 cores",
        Scenario = new("scenarios/carried.yaml", new string('d', 64), scenario),
        Rig = new("rigs/bench-1.yaml", new string('e', 64), rig),
        ScenarioName = "carried then dropped",
        RigName = "bench-1",
        Link = "usb:1209:0001:A7F3 (/dev/ttyACM0)",
        Speed = "4x",
        Rate = new SampleRate(50_001),
        Samples = 4_200,
        LeadSamples = 200,
        Channels = ["ax", "ay", "az"],
    };

    [Test]
    public void A_run_is_read_as_it_was_written()
    {
        foreach (RunManifest run in new[] { Full, Minimal("s", "") }) { Assert.That(RoundTrip(run), Is.EqualTo(run).UsingPropertiesComparer()); }
    }

    [Test]
    public void The_texts_stand_in_the_file_as_people_wrote_them()
    {
        using var folder = TestPaths.NewFolder();
        RunManifestFile.Write(folder.File("run.yaml"), Minimal(ScenarioFileTests.CarriedThenDropped, RigFileTests.Bench));
        string text = File.ReadAllText(folder.File("run.yaml"));
        foreach (string line in (ScenarioFileTests.CarriedThenDropped + "\n" + RigFileTests.Bench).Split('\n')) { Assert.That(text, Does.Contain($"\n    {line}\n")); }
        Assert.That(File.ReadAllBytes(folder.File("run.yaml"))[0], Is.EqualTo((byte)'r'), "no byte order mark");
        Assert.That(Directory.GetFiles(folder.Path), Has.Length.EqualTo(1), "no temporary file is left");
    }

    [Test]
    public void Any_text_comes_back_to_the_byte()
    {
        var awkward = Gen.OneOf(
            Gen.Char["ab :#-'\"\\{}[]|>%@`&*!?,\t\n\r \u0001\u0085\u00a0\u2028\u2029\ufeffé"].Array[0, 40].Select(c => new string(c) + (c.Length % 3 == 0 ? "\ud83d\ude00" : "")),
            OneOf("a", " a", "", "\t", "---", "...", "# c", "key: v", "a ", "\u2028").Array[0, 8].Select(l => string.Join('\n', l)),
            OneOf("a", " a", "", "b: c").Array[0, 8].Select(l => string.Join("\r\n", l)),
            Gen.String.Where(s => !s.Any(char.IsSurrogate)));
        Gen.Select(awkward, awkward).Sample((scenario, rig) =>
        {
            RunManifest read = RoundTrip(Minimal(scenario, rig) with { Host = scenario });
            return read.Scenario.Text == scenario && read.Rig.Text == rig && read.Host == scenario;
        }, iter: 5_000);
    }

    [TestCase("    \n \n, text")]
    [TestCase("\n \nx")]
    [TestCase("\t\nx\n")]
    [TestCase("   ")]
    public void Blank_lines_before_the_first_text_come_back(string text) =>
        Assert.That(RoundTrip(Minimal(text, text)).Scenario.Text, Is.EqualTo(text));

    [Test]
    public void Damage_is_told_with_its_place()
    {
        using var folder = TestPaths.NewFolder();
        RunManifestFile.Write(folder.File("run.yaml"), Full);
        string text = File.ReadAllText(folder.File("run.yaml"));
        File.WriteAllText(folder.File("run.yaml"), text.Replace("samples: 4200", "samples: many", StringComparison.Ordinal));
        Assert.That(Assert.Throws<BadInputException>(() => RunManifestFile.Read(folder.File("run.yaml")))!.Message, Does.Contain("samples is \"many\""));
    }

    private static Gen<string> OneOf(params string[] texts) => Gen.Int[0, texts.Length - 1].Select(i => texts[i]);

    private static RunManifest RoundTrip(RunManifest run)
    {
        string path = Path.Combine(Path.GetTempPath(), $"hil-{Guid.NewGuid():N}.yaml");
        try
        {
            RunManifestFile.Write(path, run);
            return RunManifestFile.Read(path);
        }
        finally
        {
            File.Delete(path);
        }
    }
}
