using HilRunner.Core.Recordings;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings;

public class RecordingFileTests
{
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void Reads_data_labels_and_side_file()
    {
        File.WriteAllText(_folder.File("depot.csv"), "ax_g,ay_g,az_g,gx_dps\r\n0.01,-0.02,0.99,1.5\r\n0.5,0,1e0,-2\r\n");
        File.WriteAllText(_folder.File("depot.labels.csv"), "start_s,end_s,class\n0.02,0.04,\"carried, by hand\"\n0,0.02,resting\n");
        File.WriteAllText(_folder.File("depot.yaml"), "rate: 50 Hz\nrange: 8 g\nsubject: courier 3\nmounting: label side up\nprovenance: made\nlicence: CC0-1.0\ninvented: true\n");

        var recording = RecordingFile.Read(_folder.File("depot.csv"));

        Assert.That(recording.Name, Is.EqualTo("depot"));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(50_000)));
        Assert.That(recording.ChannelNames, Is.EqualTo(["ax", "ay", "az", "gx"]));
        Assert.That(recording.Channels, Is.EqualTo(new double[][] { [0.01, 0.5], [-0.02, 0], [0.99, 1], [1.5, -2] }));
        Assert.That(recording.Labels, Is.EqualTo([
            new LabelInterval(new(0), new(20_000_000), "resting"), new LabelInterval(new(20_000_000), new(40_000_000), "carried, by hand")]));
        Assert.That(recording.Info, Is.EqualTo(new RecordingInfo
        {
            Rate = new(50_000), RangeG = 8, Source = "courier 3", Mounting = "label side up", Provenance = "made", Licence = "CC0-1.0", Invented = true,
        }));
    }

    /// <summary>1 g = 9.80665 m/s² (3rd CGPM 1901); a half turn is π rad.</summary>
    [Test]
    public void Converts_every_unit()
    {
        File.WriteAllText(_folder.File("a.csv"), "t_s,ax_mps2,ay_mg,az_g,gx_radps,gy_dps\n0,9.80665,250,1,3.141592653589793,180\n0.01,-19.6133,-1000,1,0,0\n");
        var recording = RecordingFile.Read(_folder.File("a.csv"));
        Assert.That(recording.Channels, Is.EqualTo(new double[][] { [1, -2], [0.25, -1], [1, 1], [180, 0], [180, 0] }));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(100_000)));
    }

    [Test]
    public void Quoted_cells_byte_order_mark_and_trailing_empty_lines_are_fine()
    {
        File.WriteAllText(_folder.File("a.csv"), "\uFEFF\"t_s\",\"ax_g\"\r\n\"0\",\"1.5\"\r\n0.5, 2 \r\n\r\n\r\n");
        var recording = RecordingFile.Read(_folder.File("a.csv"));
        Assert.That(recording.Channels[0], Is.EqualTo([1.5, 2]));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(2000)));
    }

    [Test]
    public void Labels_stand_on_the_clock_of_the_time_column()
    {
        File.WriteAllText(_folder.File("a.csv"), "t_s,ax_g\n1700000000.25,0\n1700000000.27,0\n1700000000.29,0\n");
        File.WriteAllText(_folder.File("a.labels.csv"), "start_s,end_s,class\n1700000000.27,1700000000.31,conveyed\n");
        var recording = RecordingFile.Read(_folder.File("a.csv"));
        Assert.That(recording.Labels, Is.EqualTo([new LabelInterval(new(20_000_000), new(60_000_000), "conveyed")]));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(50_000)));
    }

    [Test]
    public void Rate_from_times_that_are_rounded_to_milliseconds()
    {
        File.WriteAllLines(_folder.File("a.csv"), ["t_s,ax_g", .. Enumerable.Range(0, 6001).Select(i => FormattableString.Invariant($"{i / 60.0:0.000},0"))]);
        Assert.That(RecordingFile.Read(_folder.File("a.csv")).Rate, Is.EqualTo(new SampleRate(60_000)), "the median step of 17 ms would give 58.8 Hz");
    }

    [Test]
    public void Stated_rate_wins_over_a_clock_that_drifts_a_little()
    {
        File.WriteAllLines(_folder.File("a.csv"), ["t_s,ax_g", .. Enumerable.Range(0, 20_000).Select(i => FormattableString.Invariant($"{i * 0.02 * (1 + 1e-4):0.000000},0"))]);
        File.WriteAllText(_folder.File("a.yaml"), "rate: 0.05 kHz\n");
        Assert.That(RecordingFile.Read(_folder.File("a.csv")).Rate, Is.EqualTo(new SampleRate(50_000)));
    }

    [Test]
    public void Writing_replaces_all_three_files()
    {
        var recording = new Recording
        {
            Name = "a", Rate = new(100_000), ChannelNames = ["az"], Channels = [[1, 0.5]],
            Labels = [new(new(0), new(10_000_000), "resting")], Info = new() { Source = "tag 1", Invented = true },
        };
        RecordingFile.Write(_folder.File("a.csv"), recording);
        Assert.That(File.ReadAllText(_folder.File("a.csv")), Is.EqualTo("t_s,az_g\n0,1\n0.01,0.5\n"));
        Assert.That(File.ReadAllText(_folder.File("a.labels.csv")), Is.EqualTo("start_s,end_s,class\n0,0.01,resting\n"));
        Assert.That(File.ReadAllText(_folder.File("a.yaml")), Is.EqualTo("rate: 100 Hz\nsource: \"tag 1\"\ninvented: true\n"));

        RecordingFile.Write(_folder.File("a.csv"), recording with { Labels = [] });
        Assert.That(Directory.GetFiles(_folder.Path).Select(Path.GetFileName), Is.EquivalentTo(["a.csv", "a.yaml"]));
    }

    [Test]
    public void Writing_refuses_what_is_no_recording()
    {
        var good = new Recording { Name = "a", Rate = new(1000), ChannelNames = ["ax", "ay"], Channels = [[0, 1], [0, 1]] };
        Recording[] bad =
        [
            good with { ChannelNames = ["ax", "ax"] }, good with { ChannelNames = ["ax", "mx"] }, good with { ChannelNames = ["ax"] },
            good with { ChannelNames = [], Channels = [] }, good with { Channels = [[0, 1], [0]] }, good with { Channels = [[], []] },
            good with { Channels = [[0, 1], [0, double.NaN]] },
            good with { Labels = [new(new(5), new(5), "a")] }, good with { Labels = [new(new(0), new(5), "a"), new(new(4), new(9), "b")] },
            good with { Labels = [new(new(-1), new(5), "a")] }, good with { Labels = [new(new(0), new(5), " ")] },
        ];
        foreach (var recording in bad)
        {
            Assert.That(() => RecordingFile.Write(_folder.File("a.csv"), recording), Throws.ArgumentException);
        }
        Assert.That(() => RecordingFile.Write(_folder.File("a.txt"), good), Throws.ArgumentException);
        Assert.That(Directory.GetFiles(_folder.Path), Is.Empty);
    }
}
