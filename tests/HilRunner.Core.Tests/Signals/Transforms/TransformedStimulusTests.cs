using System.Runtime.InteropServices;
using System.Security.Cryptography;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals.Transforms;

/// <summary>Transforms and made signals as steps of a scenario.</summary>
internal sealed class TransformedStimulusTests
{
    private static readonly InputSpec s_input = new(new(100_000), [new("ax", 0.001, 8), new("ay", 0.001, 8), new("az", 0.001, 8)]);

    internal const string Everything = """
        scenario: all of it
        stimulus:
          - play: a.csv
            from: 1 s
            mirror: [y]
            rotate: {x: 20 deg, z: 90 deg}
            scale: {ax: 1.02, ay: 0.98}
            offset: {az: 20 mg}
            stretch: 1.25
            mix: {with: {random: {density: {5 Hz: 0.001 g2/Hz, 20 Hz: 0.004 g2/Hz, 40 Hz: 0.001 g2/Hz}}, axis: x, for: 10 s}, gain: 0.5, at: 1 s}
            filter: {lowpass: 30 Hz, order: 3}
            noise: 3 mg
            dropouts: {share: 5 %, length: 50 ms}
          - synth: {sweep: {from: 5 Hz, to: 45 Hz}, peak: 0.3 g, axis: -y, for: 5 s, up: -z, class: conveyed}
          - synth: {sweep: {from: 20 Hz, to: 5 Hz, law: linear}, peak: 0.3 g, axis: x, for: 2 s, class: conveyed}
          - synth: {random: {from: 5 Hz, to: 20 Hz, rms: 0.1 g}, axis: z, for: 3 s, up: x, class: conveyed}
          - synth: {free_fall: 1 m, class: dropped}
          - synth: {impact: 11 ms, peak: 50 g, axis: z, for: 1 s, class: resting}
        lead: 1 s
        """;

    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        RecordingFile.Write(_folder.File("a.csv"), new()
        {
            Name = "a", Rate = new(50_000), ChannelNames = ["ax", "ay", "az"],
            Channels = [.. Enumerable.Range(0, 3).Select(c => Enumerable.Range(0, 500).Select(i => (c == 2 ? 1 : 0) + ((c + 1) * i * 7919 % 1000 - 500) / 1000.0).ToArray())],
            Labels = [new(StimulusTime.FromSeconds(3), StimulusTime.FromSeconds(7), "carried")],
        });
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    /// <summary>The order of the keys is that of the docs: the same list applied to the recording beforehand gives the same counts.</summary>
    [Test]
    public void A_play_step_is_its_transforms_in_the_stated_order()
    {
        const string list = """
            - cut: {from: 1 s}
            - mirror: [y]
            - rotate: {x: 20 deg, z: 90 deg}
            - scale: {ax: 1.02, ay: 0.98}
            - offset: {az: 20 mg}
            - resample: 100 Hz
            - mix: {with: {sweep: {from: 5 Hz, to: 20 Hz}, peak: 0.2 g, axis: x, for: 10 s}, gain: 0.5, at: 1 s}
            - filter: {bandpass: [0.5 Hz, 30 Hz], order: 3, zero_phase: true}
            """;
        string step = """
            scenario: s
            stimulus:
              - play: a.csv
                filter: {bandpass: [0.5 Hz, 30 Hz], order: 3, zero_phase: true}
                mix: {with: {sweep: {from: 5 Hz, to: 20 Hz}, peak: 0.2 g, axis: x, for: 10 s}, gain: 0.5, at: 1 s}
                offset: {az: 20 mg}
                scale: {ax: 1.02, ay: 0.98}
                rotate: {x: 20 deg, z: 90 deg}
                mirror: [y]
                from: 1 s
            """;
        var kept = RecordingTransform.Apply(RecordingFile.Read(_folder.File("a.csv")), TransformList.Parse(list, "list"), 1, _folder.Path, out _);
        Stimulus played = Build(ScenarioFile.Parse(step, "s.yaml"));
        RecordingFile.Write(_folder.File("kept.csv"), kept);
        Stimulus again = Build(ScenarioFile.Parse("scenario: s\nstimulus: [{play: kept.csv}]\n", "s.yaml"));
        Assert.That(again.Counts, Is.EqualTo(played.Counts));
        Assert.That(again.Reference.Select(r => r with { Segment = null }), Is.EqualTo(played.Reference.Select(r => r with { Segment = null })), "but for the recording, which is another");
        Assert.That(played.Counts.SelectMany(c => c).Distinct().Count(), Is.GreaterThan(100));
    }

    /// <summary>The whole way in Python, written from the documentation, with scipy's resampler, chirp and filter: every count is the same.</summary>
    [Test]
    public void An_independent_twin_gets_every_count()
    {
        const string text = """
            scenario: s
            stimulus:
              - play: a.csv
                mirror: [y]
                rotate: {x: 20 deg, z: 90 deg}
                scale: {ax: 1.02, ay: 0.98}
                offset: {az: 20 mg}
                stretch: 1.25
                mix: {with: {sweep: {from: 5 Hz, to: 45 Hz}, peak: 0.2 g, axis: -x, for: 5 s}, gain: 0.5, at: 1 s}
                filter: {lowpass: 30 Hz, order: 3}
              - synth: {sweep: {from: 40 Hz, to: 5 Hz, law: linear}, peak: 0.3 g, axis: y, for: 2 s, up: -z, class: conveyed}
              - synth: {free_fall: 500 ms, class: dropped}
              - synth: {impact: 33 ms, peak: 3 g, axis: z, for: 1 s, class: resting}
            """;
        const string twin = """
            a = x.reshape(3, -1) * np.array([[1], [-1], [1]])
            def turn(axis, degrees):
                c, q = np.cos(np.deg2rad(degrees)), np.sin(np.deg2rad(degrees))
                return np.array({'x': [[1, 0, 0], [0, c, -q], [0, q, c]], 'z': [[c, -q, 0], [q, c, 0], [0, 0, 1]]}[axis])
            a = turn('z', 90) @ turn('x', 20) @ a
            a = a * np.array([[1.02], [0.98], [1]]) + np.array([[0], [0], [0.02]])
            n = a.shape[1]
            line = a[:, :1] + (a[:, -1:] - a[:, :1]) / (n - 1) * np.arange(n)
            longer = np.arange(-(-n * 5 // 2))
            a = s.resample_poly(a - line, 5, 2, axis=1) + a[:, :1] + (a[:, -1:] - a[:, :1]) / (n - 1) * longer * 2 / 5
            a[0, 100:600] -= 0.5 * 0.2 * s.chirp(np.arange(500) / 100, 5, 5, 45, 'logarithmic', phi=-90)
            sos = s.butter(3, 30, fs=100, output='sos')
            a = np.array([s.sosfilt(sos, row, zi=s.sosfilt_zi(sos) * row[0])[0] for row in a])
            sweep = np.zeros((3, 200))
            sweep[1] = 0.3 * s.chirp(np.arange(200) / 100, 40, 2, 5, 'linear', phi=-90)
            sweep[2] = -1
            hit = np.zeros((3, 100))
            edges = np.minimum(np.arange(101) / 100, 0.033)
            hit[2] = 1 + 3 * 0.033 / np.pi * (np.cos(np.pi * edges[:-1] / 0.033) - np.cos(np.pi * edges[1:] / 0.033)) * 100
            y = np.rint(np.concatenate([a, sweep, np.zeros((3, 50)), hit], axis=1) / 0.001)
            """;
        Stimulus stimulus = Build(ScenarioFile.Parse(text, "s.yaml"));
        double[] expected = Scipy.Run(twin, [.. RecordingFile.Read(_folder.File("a.csv")).Channels.SelectMany(c => c)]);
        Assert.That(stimulus.Counts.SelectMany(c => c), Is.EqualTo(expected));
    }

    [Test]
    public void A_stretched_step_lasts_longer_and_its_reference_with_it()
    {
        Stimulus stimulus = Build(ScenarioFile.Parse("scenario: s\nstimulus: [{play: a.csv, from: 1 s, to: 9 s, stretch: 1.5}, {synth: {rest: 1 s, class: resting}}]\n", "s.yaml"));
        Assert.That(stimulus.Reference.Select(r => (r.Start.Seconds, r.End.Seconds, r.Class)), Is.EqualTo(new[] { (3m, 9m, "carried"), (12m, 13m, "resting") }));
        Assert.That(stimulus.SampleCount, Is.EqualTo(1300));
    }

    [Test]
    public void A_mixed_recording_is_a_source_of_the_run()
    {
        RecordingFile.Write(_folder.File("lorry.csv"), RecordingFile.Read(_folder.File("a.csv")) with { Info = new() { Invented = true } });
        Stimulus stimulus = Build(ScenarioFile.Parse("scenario: s\nstimulus: [{play: a.csv, mix: {with: lorry.csv}}]\n", "s.yaml"));
        Assert.That(stimulus.Sources.Select(s => (s.Path, s.Info.Invented)), Is.EqualTo(new[] { ("a.csv", false), ("lorry.csv", true) }));
    }

    [Test]
    public void What_is_added_needs_its_channels_in_the_recording_and_not_in_the_rig()
    {
        Assert.That(() => Build(ScenarioFile.Parse("scenario: s\nstimulus: [{play: a.csv, offset: {gz: 1 dps}}]\n", "s.yaml")),
            Throws.TypeOf<BadInputException>().With.Message.EqualTo("scenario 's', stimulus step 1: a.csv without gz (it has ax, ay, az); expected every channel of the rig's input, and those that scale and offset name; leave it out of scale and offset, or take a recording that has it"));
        var narrow = s_input with { Channels = [s_input.Channels[0]] };
        Assert.That(StimulusBuilder.Build(ScenarioFile.Parse("scenario: s\nstimulus: [{play: a.csv, offset: {az: 1 g}}]\n", "s.yaml"), _folder.Path, narrow, 1).Counts, Has.Count.EqualTo(1));
    }

    [TestCase("x", 0, 1000)]
    [TestCase("-x", 0, -1000)]
    [TestCase("y", 1, 1000)]
    [TestCase("-y", 1, -1000)]
    [TestCase("z", 2, 1000)]
    [TestCase("-z", 2, -1000)]
    public void Rest_reads_one_g_on_the_side_that_is_up(string up, int channel, int counts)
    {
        Stimulus stimulus = Build(ScenarioFile.Parse($"scenario: s\nstimulus: [{{synth: {{rest: 1 s, up: {up}, class: resting}}}}]\n", "s.yaml"));
        for (int c = 0; c < 3; c++) { Assert.That(stimulus.Counts[c], Is.All.EqualTo(c == channel ? counts : 0)); }
    }

    [Test]
    public void A_fall_from_one_metre_reads_nothing_for_its_time_and_an_impact_keeps_its_velocity()
    {
        const string text = "scenario: s\nstimulus: [{synth: {free_fall: 1 m, class: dropped}}, {synth: {impact: 11 ms, peak: 5 g, axis: -z, for: 1 s, class: landed}}]\n";
        Stimulus stimulus = Build(ScenarioFile.Parse(text, "s.yaml"));
        Assert.That(stimulus.Reference[0].End, Is.EqualTo(StimulusTime.FromSeconds(0.46m)), "0.4516 s in whole samples");
        for (int c = 0; c < 3; c++) { Assert.That(stimulus.Counts[c][..46], Is.All.Zero); }
        Assert.That(stimulus.Counts[2][46..].Sum(n => n - 1000) * 0.001 / 100, Is.EqualTo(-2 * 5 * 0.011 / Math.PI).Within(2 * 0.001 / 100), "within the rounding of two counts");
    }

    /// <summary>Every machine has to get these counts; a change here is a change of what all stored seeds mean.</summary>
    [Test]
    public void The_counts_of_everything_at_once_are_the_same_on_every_machine()
    {
        Stimulus stimulus = Build(ScenarioFile.Parse(Everything, "s.yaml"));
        byte[] bytes = [.. stimulus.Counts.SelectMany(c => MemoryMarshal.AsBytes<int>(c).ToArray())];
        TestContext.Out.WriteLine($"{stimulus.SampleCount} samples, clipped {string.Join(", ", stimulus.Clipped)}");
        Assert.That(Convert.ToHexStringLower(SHA256.HashData(bytes)), Is.EqualTo("0d5594cadffd588a8ec6726e1f391e399f0bcb7304667d4f67f3d69dbc0d6b09"));
    }

    [Test]
    public void The_options_of_a_file_are_those_of_the_records()
    {
        var scenario = ScenarioFile.Parse(Everything, "s.yaml");
        var play = (PlayStep)scenario.Steps[0];
        Assert.Multiple(() =>
        {
            Assert.That(play.Mirror, Is.EqualTo(new[] { 'y' }));
            Assert.That(play.Scale, Is.EqualTo(1));
            Assert.That(play.ChannelScales, Is.EqualTo(new Dictionary<string, double> { ["ax"] = 1.02, ["ay"] = 0.98 }));
            Assert.That(play.Offsets, Is.EqualTo(new Dictionary<string, double> { ["az"] = 0.02 }));
            Assert.That(play.StretchPermille, Is.EqualTo(1250));
            Assert.That(play.Filter, Is.EqualTo(new Filter(null, 30, 3, false)));
            Assert.That(play.Dropouts, Is.EqualTo(new Dropouts(0.05, TimeSpan.FromMilliseconds(50), DropoutFill.Hold)));
            Assert.That((play.Mix!.Gain, play.Mix.At), Is.EqualTo((0.5, StimulusTime.FromSeconds(1))));
            var random = (RandomVibration)((MixedSignal)play.Mix.With).Signal;
            Assert.That(random.Density, Is.EqualTo(new DensityPoint[] { new(5, 0.001), new(20, 0.004), new(40, 0.001) }));
            Assert.That(scenario.Steps[1], Is.EqualTo(new SynthStep(TimeSpan.FromSeconds(5), "conveyed", new Sweep(5, 45, SweepLaw.Exponential, 0.3, new('y', true))) { Up = new('z', true) }));
            Assert.That(((Sweep)((SynthStep)scenario.Steps[2]).Signal).Law, Is.EqualTo(SweepLaw.Linear));
            Assert.That(((RandomVibration)((SynthStep)scenario.Steps[3]).Signal).Density[0].G2PerHz, Is.EqualTo(0.01 / 15).Within(1e-15));
            Assert.That(scenario.Steps[4], Is.EqualTo(new SynthStep(TimeSpan.FromTicks(4_516_008), "dropped", new FreeFall())));
            Assert.That(scenario.Steps[5], Is.EqualTo(new SynthStep(TimeSpan.FromSeconds(1), "resting", new Impact(TimeSpan.FromMilliseconds(11), 50, new('z')))));
        });
    }

    private Stimulus Build(Scenario scenario) => StimulusBuilder.Build(scenario, _folder.Path, s_input, 7);
}
