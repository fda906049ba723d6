using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Signals;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals;

public class StimulusBuilderTests
{
    private static readonly InputSpec s_input = new(new(50_000), [new("ax", 0.001, 8), new("ay", 0.001, 8), new("az", 0.001, 8)]);
    private static readonly InputSpec s_sixAxes = s_input with { Channels = [.. s_input.Channels, new("gx", 0.1, 250), new("gy", 0.1, 250), new("gz", 0.1, 250)] };

    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void Plays_a_recording_of_the_same_rate_untouched()
    {
        Record("a", 50, ["ax", "ay", "az"], 500, (c, i) => Math.Sin(c + i * 0.37), [(0, 4, "resting"), (5, 10, "walked_with")]);
        var stimulus = Build(new PlayStep("a.csv"));
        for (int c = 0; c < 3; c++)
        {
            Assert.That(stimulus.Counts[c], Is.EqualTo(Enumerable.Range(0, 500).Select(i => (int)Math.Round(Math.Sin(c + i * 0.37) / 0.001, MidpointRounding.ToEven))));
        }
        Assert.That(Unplaced(stimulus), Is.EqualTo([Expect(0, 4, "resting", 1), Expect(5, 10, "carried", 2)]));
        Assert.That(stimulus.End, Is.EqualTo(new StimulusTime(10_000_000_000)));
        Assert.That(stimulus.Clipped, Is.EqualTo([0L, 0, 0]));
        Assert.That(stimulus.Sources, Is.EqualTo([new StimulusSource("a.csv", FileHash.Sha256(_folder.File("a.csv")), new() { Rate = new(50_000), Invented = true })]));
    }

    [Test]
    public void Cuts_to_the_samples_inside_and_moves_the_labels_with_them()
    {
        Record("a", 50, ["ax", "ay", "az"], 500, (c, i) => c == 0 ? i * 0.001 : 0, [(0, 4, "resting"), (4, 9, "carried")]);
        // 3.99 s lies between samples 199 and 200: the first sample played is 200, at 4 s.
        var stimulus = Build(new PlayStep("a.csv") { From = Seconds(2.01m), To = Seconds(3.03m) }, new PlayStep("a.csv") { From = Seconds(3.99m), To = Seconds(6) });
        Assert.That(stimulus.Counts[0], Is.EqualTo([.. Enumerable.Range(101, 51), .. Enumerable.Range(200, 100)]));
        Assert.That(Unplaced(stimulus), Is.EqualTo([Expect(0, 1.02m, "resting", 1), Expect(1.02m, 3.02m, "carried", 2)]));
    }

    [Test]
    public void A_cut_at_the_time_of_a_sample_starts_with_it_and_ends_before_it()
    {
        var rate = new SampleRate(60_000);
        Record("a", 60, ["az"], 100, (_, i) => i * 0.001, []);
        InputSpec input = new(rate, [s_input.Channels[2]]);
        for (int from = 0; from < 10; from++)
        {
            var step = new PlayStep("a.csv") { From = rate.TimeOf(from), To = rate.TimeOf(from + 10) };
            Assert.That(StimulusBuilder.Build(Scenario(step), _folder.Path, input, 1).Counts[0], Is.EqualTo(Enumerable.Range(from, 10)));
        }
    }

    [Test]
    public void A_label_that_lasts_until_the_cut_lasts_until_the_resampled_end()
    {
        Record("a", 50, ["ax", "ay", "az"], 101, (c, _) => c == 2 ? 1 : 0, [(0, 1, "resting"), (1, 2.02m, "carried")]);
        var stimulus = StimulusBuilder.Build(Scenario(new PlayStep("a.csv"), new PlayStep("a.csv")), _folder.Path, s_input with { Rate = new(20_000) }, 1);
        // 101 samples at 50 Hz are 40.4 at 20 Hz: 41 are played, 2.05 s.
        Assert.That(Unplaced(stimulus), Is.EqualTo([
            Expect(0, 1, "resting", 1), Expect(1, 2.05m, "carried", 2), Expect(2.05m, 3.05m, "resting", 3), Expect(3.05m, 4.1m, "carried", 4)]));
        Assert.That(stimulus.Counts[2], Is.All.EqualTo(1000));
    }

    [Test]
    public void Abutting_labels_of_one_class_are_one_trial_within_a_step_and_two_across_steps()
    {
        Record("a", 50, ["ax", "ay", "az"], 100, (_, _) => 0, [(0, 1, "walked_with"), (1, 2, "carried")]);
        var stimulus = Build(new PlayStep("a.csv"), new PlayStep("a.csv"), new SynthStep(TimeSpan.FromSeconds(1), "transition", new Rest()));
        Assert.That(Unplaced(stimulus), Is.EqualTo([Expect(0, 2, "carried", 1), Expect(2, 4, "carried", 2), Expect(4, 5, "transition", 3)]));
    }

    [TestCase('x', new[] { 1000, -3000, 2000 })]
    [TestCase('y', new[] { 3000, 2000, -1000 })]
    [TestCase('z', new[] { -2000, 1000, 3000 })]
    public void A_quarter_turn_is_right_handed_and_exact(char axis, int[] expected)
    {
        Record("a", 50, ["ax", "ay", "az", "gx", "gy", "gz"], 1, (c, _) => (c % 3 + 1) * (c < 3 ? 1 : 10), []);
        var stimulus = StimulusBuilder.Build(Scenario(new PlayStep("a.csv") { Rotate = [new(axis, 90)] }), _folder.Path, s_sixAxes, 1);
        Assert.That(stimulus.Counts.Select(c => c[0]), Is.EqualTo([.. expected, .. expected.Select(e => e / 10)]));
    }

    [Test]
    public void Rotations_act_in_their_order()
    {
        Record("a", 50, ["ax", "ay", "az"], 1, (c, _) => c == 0 ? 1 : 0, []);
        int[] Played(params Rotation[] turns) => [.. Build(new PlayStep("a.csv") { Rotate = turns }).Counts.Select(c => c[0])];
        Assert.That(Played(new Rotation('z', 90), new Rotation('x', 90)), Is.EqualTo([0, 0, 1000]), "x → y → z");
        Assert.That(Played(new Rotation('x', 90), new Rotation('z', 90)), Is.EqualTo([0, 1000, 0]), "x → x → y");
        Assert.That(Played(new Rotation('z', 30), new Rotation('z', 60)), Is.EqualTo([0, 1000, 0]));
        Assert.That(Played(new Rotation('z', -45)), Is.EqualTo([707, -707, 0]));
    }

    [Test]
    public void Scale_acts_on_all_channels()
    {
        Record("a", 50, ["ax", "ay", "az", "gx", "gy", "gz"], 3, (c, _) => c + 1, []);
        var stimulus = StimulusBuilder.Build(Scenario(new PlayStep("a.csv") { Scale = 0.5 }), _folder.Path, s_sixAxes, 1);
        Assert.That(stimulus.Counts.Select(c => c[2]), Is.EqualTo([500, 1000, 1500, 20, 25, 30]));
    }

    [Test]
    public void Noise_has_its_deviation_on_every_acceleration_and_leaves_turning_rates_alone()
    {
        Record("a", 50, ["ax", "ay", "az", "gx", "gy", "gz"], 40_000, (c, _) => c == 2 ? 1 : 0, []);
        var stimulus = StimulusBuilder.Build(Scenario(new PlayStep("a.csv") { NoiseG = 0.05 }), _folder.Path, s_sixAxes, 7);
        double[] mean = [0, 0, 1];
        for (int c = 0; c < 3; c++)
        {
            double[] noise = [.. stimulus.Counts[c].Select(n => n * 0.001 - mean[c])];
            Assert.That(noise.Average(), Is.EqualTo(0).Within(5 * 0.05 / 200));
            Assert.That(Math.Sqrt(noise.Average(x => x * x)), Is.EqualTo(0.05).Within(5 * 0.05 / Math.Sqrt(80_000)));
        }
        double correlation = stimulus.Counts[0].Zip(stimulus.Counts[1], (a, b) => a * 1e-3 * b * 1e-3).Average() / (0.05 * 0.05);
        Assert.That(correlation, Is.EqualTo(0).Within(5 / 200.0), "axes are independent");
        Assert.That(stimulus.Counts.Skip(3).SelectMany(c => c), Is.All.Zero);
    }

    [Test]
    public void Noise_follows_seed_and_step_and_not_the_channels_of_the_rig()
    {
        Record("a", 50, ["ax", "ay", "az"], 100, (_, _) => 0, []);
        var scenario = Scenario(new PlayStep("a.csv") { NoiseG = 0.1 }, new PlayStep("a.csv") { NoiseG = 0.1 });
        int[] Az(InputSpec input, ulong seed) => StimulusBuilder.Build(scenario, _folder.Path, input, seed).Counts[^1];
        int[] noise = Az(s_input, 3);
        Assert.That(Az(s_input, 3), Is.EqualTo(noise));
        Assert.That(Az(s_input with { Channels = [s_input.Channels[2]] }, 3), Is.EqualTo(noise));
        Assert.That(Az(s_input, 4), Is.Not.EqualTo(noise));
        Assert.That(noise.Take(100).SequenceEqual(noise.Skip(100)), Is.False, "the second step has noise of its own");
    }

    /// <summary>
    /// The whole way in Python, written from the documentation: rotation, scipy's resampler, its own xoshiro256** and scipy's
    /// inverse normal distribution, the tone, rounding. Every count is the same, so every machine has to get these.
    /// </summary>
    [Test]
    public void An_independent_twin_gets_every_count()
    {
        Record("a", 20, ["ax", "ay", "az"], 100, (c, i) => (c == 2 ? 1 : 0) + (((c + 1) * i * 7919 % 1000) - 500) / 1000.0, []);
        var stimulus = StimulusBuilder.Build(
            Scenario(new SynthStep(TimeSpan.FromSeconds(2), "conveyed", new Tone(16, 0.3, new('y'))), new PlayStep("a.csv") { NoiseG = 0.01, Rotate = [new('z', 33)], Scale = 0.9 }),
            _folder.Path, s_input, ulong.MaxValue);
        double[] expected = Scipy.Run(Twin, [.. RecordingFile.Read(_folder.File("a.csv")).Channels.SelectMany(c => c)]);
        Assert.That(stimulus.Counts.SelectMany(c => c), Is.EqualTo(expected));
    }

    private const string Twin = """
        M = 2**64 - 1
        def mix(state):
            state = (state + 0x9E3779B97F4A7C15) & M
            z = state
            z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & M
            z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & M
            return state, z ^ (z >> 31)
        def rotl(v, k): return ((v << k) | (v >> (64 - k))) & M
        def noise(seed, n):
            state, s4 = seed, []
            for _ in range(4):
                state, z = mix(state)
                s4.append(z)
            out = []
            for _ in range(n):
                r = (rotl((s4[1] * 5) & M, 7) * 9) & M
                t = (s4[1] << 17) & M
                s4[2] ^= s4[0]; s4[3] ^= s4[1]; s4[1] ^= s4[2]; s4[0] ^= s4[3]
                s4[2] ^= t
                s4[3] = rotl(s4[3], 45)
                out.append(((r >> 12) + 0.5) / 2**52)
            return sp.ndtri(np.array(out))
        def seed_of(seed, step, axis):
            return mix(mix(mix(seed)[1] ^ step)[1] ^ ord(axis))[1]
        a, turn = x.reshape(3, -1), np.deg2rad(33)
        R = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
        n = a.shape[1]
        y = []
        for k, row in enumerate(R @ a * 0.9):
            line = np.linspace(row[0], row[-1], n)
            out = s.resample_poly(row - line, 5, 2) + row[0] + (row[-1] - row[0]) / (n - 1) * np.arange(-(-n * 5 // 2)) * 2 / 5
            out = out + 0.01 * noise(seed_of(M, 1, 'xyz'[k]), len(out))
            tone = np.full(100, 1.0 if k == 2 else 0.0) + (0.3 * np.sin(2 * np.pi * 16 * np.arange(100) / 50) if k == 1 else 0)
            y.append(np.rint(np.concatenate([tone, out]) / 0.001))
        """;

    [Test]
    public void Noise_is_added_at_the_rate_of_the_device()
    {
        Record("a", 10, ["az"], 5000, (_, _) => 0, []);
        var input = new InputSpec(new(100_000), [new("az", 0.0001, 8)]);
        double[] noise = [.. StimulusBuilder.Build(Scenario(new PlayStep("a.csv") { NoiseG = 0.05 }), _folder.Path, input, 1).Counts[0].Select(n => n * 0.0001)];
        double neighbours = noise.Skip(1).Zip(noise, (a, b) => a * b).Average() / noise.Average(x => x * x);
        Assert.That(neighbours, Is.EqualTo(0).Within(5 / Math.Sqrt(noise.Length)), "white: through a resampler from 10 to 100 Hz neighbours would be nearly equal");
    }

    [Test]
    public void Makes_rest_and_tones_on_top_of_rest()
    {
        var stimulus = StimulusBuilder.Build(
            Scenario(new SynthStep(TimeSpan.FromSeconds(1), "resting", new Rest()), new SynthStep(TimeSpan.FromSeconds(0.15), "conveyed", new Tone(12.5, 0.3, new('z'))),
                new SynthStep(TimeSpan.FromSeconds(0.08), "", new Tone(12.5, 0.5, new('x')))), _folder.Path, s_sixAxes, 1);
        int[] z = [.. Enumerable.Repeat(1000, 50), 1000, 1300, 1000, 700, 1000, 1300, 1000, 700, 1000, 1000, 1000, 1000];
        Assert.That(stimulus.Counts[2], Is.EqualTo(z[..stimulus.SampleCount]));
        Assert.That(stimulus.Counts[0][^4..], Is.EqualTo([0, 500, 0, -500]));
        Assert.That(stimulus.Counts.Skip(3).SelectMany(c => c), Is.All.Zero);
        Assert.That(Unplaced(stimulus), Is.EqualTo([Expect(0, 1, "resting", 1), Expect(1, 1.16m, "conveyed", 2)]), "0.15 s are 8 samples");
    }

    [Test]
    public void The_lead_holds_the_mean_of_the_first_second()
    {
        Record("a", 50, ["ax", "ay", "az"], 200, (c, i) => c == 2 ? i < 50 ? i % 2 == 0 ? 1.25 : 0.75 : 5 : 0.5, [(0, 4, "resting")]);
        var stimulus = StimulusBuilder.Build(Scenario(new PlayStep("a.csv")) with { Lead = TimeSpan.FromSeconds(4) }, _folder.Path, s_input, 1);
        Assert.That(stimulus.LeadSamples, Is.EqualTo(200));
        Assert.That(stimulus.SampleCount, Is.EqualTo(400));
        Assert.That(stimulus.Counts[2][..200], Is.All.EqualTo(1000));
        Assert.That(stimulus.Counts[0], Is.All.EqualTo(500));
        Assert.That(stimulus.Counts[2][200], Is.EqualTo(1250));
        Assert.That(Unplaced(stimulus), Is.EqualTo([Expect(0, 4, "resting", 1)]));
        Assert.That(stimulus.End, Is.EqualTo(new StimulusTime(4_000_000_000)));
    }

    [Test]
    public void Counts_go_to_the_even_neighbour_and_are_clipped_at_the_range()
    {
        // Halves of a count, exact in binary: one count is 1/4 g.
        double[] g = [0.125, 0.375, 0.625, -0.125, -0.375, 7.9, 8, 8.1, 8.2, -8.1, -9, 1e9];
        Record("a", 50, ["az"], g.Length, (_, i) => g[i], []);
        var stimulus = StimulusBuilder.Build(Scenario(new PlayStep("a.csv")), _folder.Path, new(new(50_000), [new("az", 0.25, 8)]), 1);
        Assert.That(stimulus.Counts[0], Is.EqualTo([0, 2, 2, 0, -2, 32, 32, 32, 32, -32, -32, 32]));
        Assert.That(stimulus.Clipped, Is.EqualTo([3L]), "8.2, −9 and 10⁹; 8.1 and −8.1 round to full scale");
    }

    [Test]
    public void Every_fault_of_every_step_is_named()
    {
        Record("a", 50, ["ax", "az"], 100, (_, _) => 0, []);
        Record("odd", 9_999.999m, ["ax", "ay", "az"], 100, (_, _) => 0, []);
        var scenario = Scenario(
            new PromptStep("carry it across the room", TimeSpan.FromSeconds(20), "carried"), new PlayStep("a.csv"),
            new PlayStep("odd.csv") { From = Seconds(5) }, new PlayStep("odd.csv") { To = Seconds(5) }, new PlayStep("odd.csv"),
            new SynthStep(TimeSpan.FromSeconds(1), "conveyed", new Tone(25, 0.3, new('z'))), new SynthStep(TimeSpan.Zero, "conveyed", new Tone(2, 0.1, new('q'))),
            new PlayStep("none.csv"), new PlayStep("none.csv"), new PlayStep("odd.csv") { From = Seconds(0.00001m), To = Seconds(0.00002m) },
            new PlayStep("odd.csv") { Scale = double.NaN, NoiseG = -1 });
        const string ratio = "odd.csv at 9999.999 Hz to be played at 50 Hz: a ratio of 50000:9999999; expected at most 1000:1 either way and no number above 1000000; state the recording's rate more roundly, or resample it beforehand";
        var faults = Assert.Throws<BadInputException>(() => StimulusBuilder.Build(scenario, _folder.Path, s_input, 1))!.Faults;
        Assert.That(faults.Select(f => f.ToString().Replace(_folder.Path + Path.DirectorySeparatorChar, "")), Is.EqualTo([
            "scenario 's', stimulus step 1: the prompt \"carry it across the room\"; expected play or synth: a prompt cannot be injected; use a rig that is moved by hand, or take the step out",
            "scenario 's', stimulus step 2: a.csv without ay (it has ax, az); expected every channel of the rig's input; take a recording that has it, or a rig without that channel",
            "scenario 's', stimulus step 3: from 5 s; expected a time from 0 on in the recording: odd.csv lasts 0.010000001 s",
            $"scenario 's', stimulus step 3: {ratio}",
            "scenario 's', stimulus step 4: to 5 s; expected a time in the recording: odd.csv lasts 0.010000001 s",
            $"scenario 's', stimulus step 4: {ratio}",
            $"scenario 's', stimulus step 5: {ratio}",
            "scenario 's', stimulus step 6: a tone of 25 Hz; expected above 0 and below half the device's input rate of 50 Hz",
            "scenario 's', stimulus step 7: synth for 00:00:00; expected a time above 0 and at most a year",
            "scenario 's', stimulus step 7: synth axis q; expected x, y or z",
            "none.csv: no such file; expected a recording; check the path",
            "scenario 's', stimulus step 10: from 0.00001 s to 0.00002 s; expected a stretch with at least one sample",
            $"scenario 's', stimulus step 10: {ratio}",
            "scenario 's', stimulus step 11: a scale that is no number; expected a factor such as 0.8",
            $"scenario 's', stimulus step 11: {ratio}",
            "scenario 's', stimulus step 11: a noise that is no amount; expected a standard deviation such as 5 mg",
        ]));
    }

    [Test]
    public void A_rotation_needs_three_axes_where_the_rig_wants_one()
    {
        Record("a", 50, ["ax", "ay"], 10, (_, _) => 0, []);
        var input = s_input with { Channels = [s_input.Channels[0]] };
        Assert.That(StimulusBuilder.Build(Scenario(new PlayStep("a.csv")), _folder.Path, input, 1).SampleCount, Is.EqualTo(10));
        Assert.That(() => StimulusBuilder.Build(Scenario(new PlayStep("a.csv") { Rotate = [new('z', 90)] }), _folder.Path, input, 1),
            Throws.TypeOf<BadInputException>().With.Message.Contains("a.csv without az").And.Message.Contains("leave the rotation out"));
    }

    [Test]
    public void A_stimulus_that_would_not_fit_in_memory_is_refused_before_it_is_made() =>
        Assert.That(() => Build(new SynthStep(TimeSpan.FromDays(300), "resting", new Rest()), new SynthStep(TimeSpan.FromDays(300), "resting", new Rest())),
            Throws.TypeOf<BadInputException>().With.Message.Contains(
                "2592000000 samples (14400 h); expected at most 13333333 of 3 channels"));

    [Test]
    public void A_scenario_without_steps_and_a_rig_with_strange_channels_are_refused()
    {
        Assert.That(() => Build(), Throws.TypeOf<BadInputException>().With.Message.Contains("without steps"));
        var step = new SynthStep(TimeSpan.FromSeconds(1), "resting", new Rest());
        Assert.That(() => StimulusBuilder.Build(Scenario(step), "", new(new(50_000), [new("mx", 1, 1)]), 1), Throws.TypeOf<BadInputException>().With.Message.Contains("'mx'"));
        Assert.That(() => StimulusBuilder.Build(Scenario(step), "", new(new(50_000), []), 1), Throws.TypeOf<BadInputException>());
        Assert.That(() => StimulusBuilder.Build(Scenario(step) with { Lead = TimeSpan.FromSeconds(-1) }, "", s_input, 1), Throws.TypeOf<BadInputException>());
    }

    [Test]
    public void Plays_an_open_recording_with_its_classes_mapped()
    {
        string data = TestPaths.OpenData("activity/acc_exp01_user01.txt");
        var format = new ForeignFormat
        {
            Separator = "space", Columns = ["ax", "ay", "az"], Rate = new(50_000),
            Labels = new("labels.txt", "space", ["experiment", "user", "class", "first", "last"]) { Where = new Dictionary<string, string> { ["experiment"] = "1" } },
        };
        var scenario = Scenario(new PlayStep("acc_exp01_user01.txt") { Format = format, From = Seconds(40), To = Seconds(100) }) with
        {
            Classes = new Dictionary<string, string> { ["4"] = "still", ["5"] = "still", ["6"] = "still", ["8"] = "moving", ["11"] = "moving" },
        };
        var stimulus = StimulusBuilder.Build(scenario, Path.GetDirectoryName(data)!, s_input, 1);
        // labels.txt: 4 until sample 2194, 8 until 2359, 5 until 3374, 11 until 3662, 6 until 4538, 10 until 4735 (1-based, inclusive).
        Assert.That(Unplaced(stimulus), Is.EqualTo([
            Expect(0, 3.88m, "still", 1), Expect(3.88m, 7.18m, "moving", 2), Expect(7.18m, 27.48m, "still", 3),
            Expect(27.48m, 33.24m, "moving", 4), Expect(33.24m, 50.76m, "still", 5), Expect(50.76m, 54.7m, "10", 6), Expect(54.7m, 60, "still", 7)]));
        Assert.That(stimulus.Sources.Single().Sha256, Is.EqualTo("75b2be56e5aaf0476cf7ecb6c53cc48093dafb490f98ec6f5ae21b466a32f97c"), "as its read-me states");
    }

    private Stimulus Build(params StimulusStep[] steps) => StimulusBuilder.Build(Scenario(steps), _folder.Path, s_input, 1);

    private static Scenario Scenario(params StimulusStep[] steps) =>
        new() { Name = "s", Steps = steps, Classes = new Dictionary<string, string> { ["walked_with"] = "carried" } };

    private void Record(string name, decimal hertz, string[] channels, int samples, Func<int, int, double> value, (decimal Start, decimal End, string Class)[] labels) =>
        RecordingFile.Write(_folder.File(name + ".csv"), new()
        {
            Name = name, Rate = new((long)(hertz * 1000)), ChannelNames = channels,
            Channels = [.. channels.Select((_, c) => Enumerable.Range(0, samples).Select(i => value(c, i)).ToArray())],
            Labels = [.. labels.Select(l => new LabelInterval(Seconds(l.Start), Seconds(l.End), l.Class))],
            Info = new() { Invented = true },
        });

    private static StimulusTime Seconds(decimal seconds) => StimulusTime.FromSeconds(seconds);

    private static ReferenceInterval Expect(decimal start, decimal end, string name, int trial) => new(Seconds(start), Seconds(end), name, trial);

    [Test]
    public void An_interval_says_which_labelled_stretch_it_is_however_it_was_cut_and_stretched()
    {
        Record("a", 50, ["ax", "ay", "az"], 500, (_, _) => 0, [(0, 4, "resting"), (5, 7, "walked_with"), (7, 10, "carried")]);
        Record("b", 50, ["ax", "ay", "az"], 100, (_, _) => 0, [(0.5m, 1.5m, "resting")]);
        var stimulus = Build(
            new PlayStep("b.csv"), new PlayStep("a.csv") { From = Seconds(2), To = Seconds(8), StretchPermille = 2000, NoiseG = 0.002 }, new SynthStep(TimeSpan.FromSeconds(1), "resting", new Rest()));
        Assert.That(stimulus.Reference.Select(r => (r.Class, r.Segment)), Is.EqualTo(new (string, RecordedSegment?)[]
        {
            ("resting", new(1, Seconds(0.5m), Seconds(1.5m))), ("resting", new(2, Seconds(0), Seconds(4))), ("carried", new(2, Seconds(5), Seconds(10))), ("resting", null),
        }));
        Assert.That(stimulus.Sources.Select(r => r.Path), Is.EqualTo(new[] { "b.csv", "a.csv" }));
        string file = _folder.File("expected.csv");
        ExpectedFile.Write(file, stimulus.Reference);
        Assert.That(ExpectedFile.Read(file), Is.EqualTo(stimulus.Reference));
    }

    /// <summary>Without where each was recorded.</summary>
    private static IEnumerable<ReferenceInterval> Unplaced(Stimulus stimulus) => stimulus.Reference.Select(r => r with { Segment = null });
}
