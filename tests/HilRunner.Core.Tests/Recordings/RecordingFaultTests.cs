using HilRunner.Core.Recordings;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings;

public class RecordingFaultTests
{
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void Every_bad_number_is_named_with_its_place()
    {
        var fault = Faults("ax_g,ay_g,az_g\n0,0,1\n0,zero,1\n,NaN,1\n0,0,\"1e999\"\n0,0\n0,0,1\n", "rate: 50 Hz");
        Assert.That(fault, Is.EqualTo([
            "a.csv:3:3: 'zero' as ay; expected a finite number such as -0.98",
            "a.csv:4:1: nothing as ax; expected a finite number such as -0.98",
            "a.csv:4:2: 'NaN' as ay; expected a finite number such as -0.98",
            "a.csv:5:5: '\"1e999\"' as az; expected a finite number such as -0.98",
            "a.csv:6: 2 columns; expected 3",
        ]));
    }

    [Test]
    public void A_comma_for_a_decimal_point_is_a_fault() =>
        Assert.That(Faults("ax_g\n\"0,5\"\n", "rate: 50 Hz"), Is.EqualTo(["a.csv:2:1: '\"0,5\"' as ax; expected a finite number such as -0.98"]));

    [Test]
    public void Faults_beyond_twenty_are_counted()
    {
        string[] faults = Faults("ax_g\n" + string.Concat(Enumerable.Repeat("x\n", 57)), "rate: 50 Hz");
        Assert.That(faults, Has.Length.EqualTo(21));
        Assert.That(faults[^1], Is.EqualTo("a.csv: 37 more faults beyond the 20 listed; expected none; mend those above first"));
    }

    [Test]
    public void Faults_of_all_three_files_come_together()
    {
        string[] faults = Faults("ax_g\nx\n", "rate: 50\nweather: dry\nrange: [8 g]\ninvented: yes\n", "start_s,end_s,class\n0,1,a\n0.5,2,b\n3,3,c\n-1,0,d\nlate,4,\n");
        Assert.That(faults, Is.EqualTo([
            "a.csv:2:1: 'x' as ax; expected a finite number such as -0.98",
            "a.labels.csv:3: b from 0.5 s, while a (line 2) lasts until 1 s; expected labels that do not overlap",
            "a.labels.csv:4: a label from 3 s to 3 s; expected an end after the start",
            "a.labels.csv:5: a label that starts 1 s before the first sample; expected a start within the recording",
            "a.labels.csv:6:1: 'late' as time; expected seconds such as 12.34",
            "a.labels.csv:6:8: no class; expected the class of this stretch",
            "a.yaml:1:7: rate is \"50\" without a unit; expected a frequency with its unit, such as 50 Hz or 1.6 kHz",
            "a.yaml:2:1: unknown key \"weather\"; expected one of rate, range, source, subject, mounting, provenance, licence, invented",
            "a.yaml:3:8: range is a list; expected a full scale such as 8 g, 2000 mg or 20 m/s2",
            "a.yaml:4:11: invented is \"yes\"; expected true or false",
        ]));
    }

    [TestCase("ax_g\n1\n2\n", "write 'rate: 50 Hz' (or what it is) in a.yaml, or add a column t_s")]
    [TestCase("t_s,ax_g\n0,1\n", "no sample rate")]
    [TestCase("t_s,ax_g\n0,1\n0.02,1\n0.04,1\n0.08,1\n0.1,1\n0.12,1\n", "a.csv:5: a step of 0.04 s from the sample before; expected even steps of 0.02 s (the median)")]
    [TestCase("t_s,ax_g\n0,1\n0.02,1\n0.02,1\n0.04,1\n0.06,1\n", "a.csv:4: a step of 0 s")]
    [TestCase("t_s,ax_g\n0,1\n0.02,1\n0.01,1\n0.04,1\n0.06,1\n", "a.csv:4: a step of -0.01 s")]
    [TestCase("t_s,ax_g\n0,1\nnoon,1\n", "a.csv:3:1: 'noon' as time")]
    [TestCase("0,0,1\n0,0,1\n", "a.csv:1:1: numbers in the first line")]
    [TestCase("ax_g,ax_mps2\n0,0\n", "a.csv:1:6: column 'ax_mps2', the second one of ax")]
    [TestCase("ax,ay_g\n0,0\n", "a.csv:1:1: column 'ax'")]
    [TestCase("ax,ay_g\n0,0\n", "write ax_g or ax_m")]
    [TestCase("t_s\n0\n1\n", "no column of motion")]
    [TestCase("ax_g\n", "a.csv: no sample")]
    [TestCase("", "an empty file")]
    [TestCase("t_s,ax_g\n1764000000000,1\n1764000000020,1\n",
        "a.csv:2:1: '1764000000000' as time; expected seconds such as 12.34; stamps in milliseconds, microseconds or nanoseconds are made seconds by hil import --time ms, us or ns")]
    [TestCase("ax_g\n1\n\n2\n", "a.csv:3: an empty line between samples")]
    public void Says_what_is_wrong_and_what_to_do(string csv, string part) => Assert.That(string.Join('\n', Faults(csv, null)), Does.Contain(part));

    [Test]
    public void A_stated_rate_that_the_times_contradict_is_a_fault()
    {
        string csv = "t_s,ax_g\n" + string.Concat(Enumerable.Range(0, 200).Select(i => FormattableString.Invariant($"{i / 52m:0.0000},0\n")));
        Assert.That(Faults(csv, "rate: 50 Hz"), Is.EqualTo([
            "a.csv:16: a sample 0.2692 s after the first; expected 0.28 s, at the stated rate of 50 Hz; correct the stated rate or the time column",
        ]));
    }

    [Test]
    public void A_rate_that_changes_on_the_way_is_a_fault()
    {
        string csv = "t_s,ax_g\n" + string.Concat(Enumerable.Range(0, 100).Select(i => FormattableString.Invariant($"{(i < 50 ? i * 0.02 : 1 + (i - 50) * 0.025):0.000},0\n")));
        Assert.That(Faults(csv, null), Has.One.Contains("at the mean rate of the time column; cut the recording where its rate changes"));
    }

    [Test]
    public void Missing_files_folders_and_other_forms_are_faults()
    {
        string absent = _folder.File("none.csv");
        Assert.That(Message(() => RecordingFile.Read(absent)), Is.EqualTo($"{absent}: no such file; expected a recording; check the path"));
        Assert.That(Message(() => RecordingFile.Read(_folder.Path)), Does.Contain("a folder"));
        File.WriteAllText(_folder.File("a.parquet"), "PAR1");
        Assert.That(Message(() => RecordingFile.Read(_folder.File("a.parquet"))), Does.Contain("a.parquet: no Parquet file that can be read (too short)"));
    }

    [Test]
    public void Unclosed_quotation_marks_and_binary_files_end_in_faults_not_in_memory()
    {
        foreach (string before in new[] { "ax_g\n", "" })
        {
            File.WriteAllText(_folder.File("a.csv"), before + "\"" + new string('1', 20_000_000));
            Assert.That(Message(() => RecordingFile.Read(_folder.File("a.csv"))),
                Does.Contain("a row of more than 16 million characters"));
        }
        byte[] noise = new byte[200_000];
        new Random(3).NextBytes(noise);
        File.WriteAllBytes(_folder.File("b.csv"), noise);
        Assert.That(() => RecordingFile.Read(_folder.File("b.csv")), Throws.TypeOf<BadInputException>());
    }

    [TestCase("rate: 50 Hz\nrate: 60 Hz\n")]
    [TestCase("rate: [50 Hz\n")]
    [TestCase("- 50 Hz\n")]
    [TestCase("rate: 50 Hz\n---\nrate: 60 Hz\n")]
    [TestCase("rate: -50 Hz\n")]
    [TestCase("rate: 33.33333 Hz\n")]
    [TestCase("rate: 20 MHz\n")]
    [TestCase("rate: 20000 kHz\n")]
    [TestCase("range: 8\n")]
    [TestCase("range: 0 g\n")]
    [TestCase("source: a\nsubject: b\n")]
    [TestCase("source:\n")]
    [TestCase("&a [*a, *a, *a]\n")]
    [TestCase("licence: &a [*a]\n")]
    [TestCase("? *a\n: &a b\n")]
    public void Bad_side_files_are_faults_in_them(string yaml) => Assert.That(Faults("ax_g\n1\n", yaml), Has.Some.StartsWith("a.yaml:"));

    [TestCase("range: 2000 mg\n", 2)]
    [TestCase("range: 19.6133 m/s2\n", 2)]
    [TestCase("range: 16 g\n", 16)]
    public void Range_may_stand_in_any_unit_of_acceleration(string yaml, double rangeG)
    {
        Write("t_s,ax_g\n0,1\n1,1\n", yaml, null);
        Assert.That(RecordingFile.Read(_folder.File("a.csv")).Info.RangeG, Is.EqualTo(rangeG));
    }

    [Test]
    public void Bad_label_files_are_faults_in_them() =>
        Assert.That(Faults("t_s,ax_g\n0,1\n1,1\n", null, "from,to,class\n0,1,a\n"), Is.EqualTo(["a.labels.csv:1:1: no such header; expected start_s,end_s,class"]));

    private void Write(string csv, string? yaml, string? labels)
    {
        File.WriteAllText(_folder.File("a.csv"), csv);
        if (yaml is not null) { File.WriteAllText(_folder.File("a.yaml"), yaml); }
        if (labels is not null) { File.WriteAllText(_folder.File("a.labels.csv"), labels); }
    }

    /// <summary>One text per fault, without the folder.</summary>
    private string[] Faults(string csv, string? yaml, string? labels = null)
    {
        Write(csv, yaml, labels);
        return Message(() => RecordingFile.Read(_folder.File("a.csv"))).Replace(_folder.Path + Path.DirectorySeparatorChar, "").Split(Environment.NewLine);
    }

    private static string Message(Action read) => Assert.Throws<BadInputException>(read)!.Message;
}
