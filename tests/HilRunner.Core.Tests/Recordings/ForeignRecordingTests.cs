using HilRunner.Core.Recordings;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings;

public class ForeignRecordingTests
{
    private static readonly ForeignFormat s_plain = new() { Separator = "comma", Columns = ["ax", "ay", "az"], Rate = new(50_000) };

    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [TestCase("space", "  1 2\t 3\n4   5 6  \r\n7 8 9")]
    [TestCase("tab", "1\t2\t3\n4\t5\t6\n7\t8\t9\n")]
    [TestCase("comma", "1,2,3\n4,5,6\n7,8,9\n\n")]
    [TestCase("semicolon", "1;2;3\r\n4;\"5\";6\r\n7;8;9\r\n")]
    public void Reads_every_separator(string separator, string text)
    {
        File.WriteAllText(_folder.File("a.txt"), text);
        var recording = RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Separator = separator });
        Assert.That(recording.Channels, Is.EqualTo(new double[][] { [1, 4, 7], [2, 5, 8], [3, 6, 9] }));
        Assert.That(recording.Labels, Is.Empty);
    }

    [Test]
    public void Skips_header_and_columns_and_converts_units()
    {
        File.WriteAllText(_folder.File("a.txt"), "when;what;x;turn\n10;n;1000;3.141592653589793\n10.5;n;-500;0\n");
        var format = new ForeignFormat { Separator = "semicolon", Header = true, Columns = ["t", "_", "ax", "gz"], Acceleration = "mg", Gyro = "rad/s" };
        var recording = RecordingFile.ReadForeign(_folder.File("a.txt"), format);
        Assert.That(recording.ChannelNames, Is.EqualTo(["ax", "gz"]));
        Assert.That(recording.Channels, Is.EqualTo(new double[][] { [1, -0.5], [180, 0] }));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(2000)));
    }

    [Test]
    public void Sample_numbers_from_0_or_1_and_an_inclusive_last_one()
    {
        File.WriteAllText(_folder.File("a.txt"), string.Concat(Enumerable.Repeat("0,0,1\n", 100)));
        File.WriteAllText(_folder.File("l.txt"), "7 1 1 10\n8 1 1 99\n7 2 11 20\n");
        var labels = new ForeignLabels("l.txt", "space", ["exp", "class", "first", "last"])
        {
            Where = new Dictionary<string, string> { ["exp"] = "7" }, Names = new Dictionary<string, string> { ["1"] = "carried" },
        };
        LabelInterval[] Read(int firstIndex) => [.. RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Labels = labels with { FirstIndex = firstIndex } }).Labels];
        Assert.That(Read(1), Is.EqualTo([new LabelInterval(new(0), new(200_000_000), "carried"), new LabelInterval(new(200_000_000), new(400_000_000), "2")]));
        Assert.That(Read(0), Is.EqualTo([new LabelInterval(new(20_000_000), new(220_000_000), "carried"), new LabelInterval(new(220_000_000), new(420_000_000), "2")]));
    }

    [Test]
    public void Labels_in_seconds_stand_on_the_clock_of_the_time_column()
    {
        File.WriteAllText(_folder.File("a.txt"), "5.0,0\n5.1,0\n5.2,0\n");
        Directory.CreateDirectory(_folder.File("sub"));
        File.WriteAllText(Path.Combine(_folder.Path, "sub", "l.csv"), "5.1,5.3,loose\n");
        var format = new ForeignFormat { Columns = ["t", "az"], Labels = new("l.csv", "comma", ["start_s", "end_s", "class"]) };
        var recording = RecordingFile.ReadForeign(_folder.File("a.txt"), format, _folder.File("sub"));
        Assert.That(recording.Labels, Is.EqualTo([new LabelInterval(new(100_000_000), new(300_000_000), "loose")]));
    }

    [Test]
    public void Contradictions_in_the_format_come_all_together()
    {
        File.WriteAllText(_folder.File("a.txt"), "1\n");
        var format = new ForeignFormat { Separator = "pipe", Acceleration = "gal", Gyro = "rpm", Columns = ["ax", "ax", "mx", "_"] };
        var faults = Assert.Throws<BadInputException>(() => RecordingFile.ReadForeign(_folder.File("a.txt"), format))!.Faults;
        Assert.That(faults.Select(f => f.Found), Is.EqualTo([
            "format: separator 'pipe'", "format: acceleration 'gal'", "format: gyro 'rpm'", "format: column ax more than once",
            "format: column ax more than once", "format: column 'mx'"]));
    }

    [TestCase("1 2\n", "a.txt:1: 2 columns; expected 3")]
    [TestCase("1 2 3\n 1  x 3\n", "a.txt:2:5: 'x' as ay; expected a finite number")]
    [TestCase("", "no sample")]
    public void Says_where_the_data_is_wrong(string text, string part)
    {
        File.WriteAllText(_folder.File("a.txt"), text);
        Assert.That(() => RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Separator = "space" }),
            Throws.TypeOf<BadInputException>().With.Message.Contains(part));
    }

    [Test]
    public void A_line_without_end_is_a_fault_not_a_full_memory()
    {
        File.WriteAllText(_folder.File("a.txt"), "1 2 3\n" + new string('1', 10_000_000));
        Assert.That(() => RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Separator = "space" }),
            Throws.TypeOf<BadInputException>().With.Message.Contains("a.txt:2: a line of more than 65536 characters"));
    }

    [Test]
    public void Lines_longer_than_the_readers_buffer_come_out_whole()
    {
        string[] lines = [.. Enumerable.Range(0, 30_000).Select(i => $"{i}{new string(' ', i % 50)} {-i} 1")];
        File.WriteAllLines(_folder.File("a.txt"), lines);
        var recording = RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Separator = "space" });
        Assert.That(recording.Channels[0], Is.EqualTo(Enumerable.Range(0, 30_000).Select(i => (double)i)));
        Assert.That(recording.Channels[1], Is.EqualTo(Enumerable.Range(0, 30_000).Select(i => (double)-i)));
    }

    [TestCase("1 1 1 10\n1 2 5 20\n", "l.txt:2: 2 from 0.08 s, while 1 (line 1) lasts until 0.2 s")]
    [TestCase("1 1 0 10\n", "l.txt:1:5: '0' as sample number; expected a whole number from 1 on")]
    [TestCase("1 1 9 8\n", "an end after the start")]
    [TestCase("1 1 9\n", "l.txt:1: 3 columns; expected 4: exp, class, first, last")]
    [TestCase("2 1 1 9\n", "no row where exp is 1; expected at least one label for this recording")]
    public void Says_where_the_labels_are_wrong(string text, string part)
    {
        File.WriteAllText(_folder.File("a.txt"), string.Concat(Enumerable.Repeat("0,0,1\n", 100)));
        File.WriteAllText(_folder.File("l.txt"), text);
        var labels = new ForeignLabels("l.txt", "space", ["exp", "class", "first", "last"]) { Where = new Dictionary<string, string> { ["exp"] = "1" } };
        Assert.That(() => RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Labels = labels }),
            Throws.TypeOf<BadInputException>().With.Message.Contains(part));
    }

    [Test]
    public void A_filter_on_a_column_that_is_not_there_is_a_fault()
    {
        File.WriteAllText(_folder.File("a.txt"), "0,0,1\n");
        File.WriteAllText(_folder.File("l.txt"), "1 0 1\n");
        var labels = new ForeignLabels("l.txt", "space", ["class", "first", "last"]) { Where = new Dictionary<string, string> { ["exp"] = "1" } };
        Assert.That(() => RecordingFile.ReadForeign(_folder.File("a.txt"), s_plain with { Labels = labels }),
            Throws.TypeOf<BadInputException>().With.Message.Contains("every one that where: names"));
    }
}
