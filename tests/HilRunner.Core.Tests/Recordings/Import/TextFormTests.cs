using System.Text;
using HilRunner.Core.Recordings.Import;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>One and the same log in many dresses.</summary>
public class TextFormTests
{
    private static readonly double[][] s_channels = [[0.01, -0.5, 0.25, 0.125], [0.98, 1.02, 1, -1.5], [0.2, 0.3, 0.4, 0.5]];

    private static IEnumerable<TestCaseData> Dresses()
    {
        string[] rows = ["0 0.01 0.98 0.2", "0.02 -0.5 1.02 0.3", "0.04 0.25 1 0.4", "0.06 0.125 -1.5 0.5"];
        string Text(string separator, string end = "\n", string tail = "", bool comma = false) =>
            string.Concat(rows.Select(r => (comma ? r.Replace('.', ',') : r).Replace(" ", separator, StringComparison.Ordinal) + tail + end));
        yield return new TestCaseData(Text(","), null).SetArgDisplayNames("comma");
        yield return new TestCaseData(Text(", "), null).SetArgDisplayNames("comma and blank");
        yield return new TestCaseData(Text(";"), null).SetArgDisplayNames("semicolon");
        yield return new TestCaseData(Text("\t", "\r\n"), null).SetArgDisplayNames("tab");
        yield return new TestCaseData(Text("   "), null).SetArgDisplayNames("blanks");
        yield return new TestCaseData(Text(";", "\r\n", comma: true), null).SetArgDisplayNames("decimal comma, semicolon");
        yield return new TestCaseData(Text("\t", comma: true), null).SetArgDisplayNames("decimal comma, tab");
        yield return new TestCaseData(Text(" ", comma: true), null).SetArgDisplayNames("decimal comma, blanks");
        yield return new TestCaseData(Text(",", tail: ";"), null).SetArgDisplayNames("lines end in semicolon");
        yield return new TestCaseData(Text(";", tail: ";"), null).SetArgDisplayNames("separator at the end");
        yield return new TestCaseData(Text(","), Encoding.UTF8).SetArgDisplayNames("byte order mark");
        yield return new TestCaseData(Text(","), Encoding.Unicode).SetArgDisplayNames("UTF-16");
        yield return new TestCaseData(Text(","), Encoding.BigEndianUnicode).SetArgDisplayNames("UTF-16, big end first");
        yield return new TestCaseData(Text(","), new UnicodeEncoding(false, false)).SetArgDisplayNames("UTF-16 without mark");
        yield return new TestCaseData("t,ax,ay,az\n" + Text(","), null).SetArgDisplayNames("header");
        yield return new TestCaseData("time (s);accel_x [g];accel_y [g];accel_z [g]\n" + Text(";"), null).SetArgDisplayNames("header with units");
        yield return new TestCaseData("\"t\",\"acc x\",\"acc y\",\"acc z\"\n" + Text(",").Replace("0.98", "\"0.98\"", StringComparison.Ordinal), null).SetArgDisplayNames("quotes");
        yield return new TestCaseData("# made by \"nobody\n" + Text(",", "\n# and so on\n\n"), null).SetArgDisplayNames("comments and empty lines");
        yield return new TestCaseData("A log\nof the 3rd, afternoon\nt,x,y,z\n" + Text(","), null).SetArgDisplayNames("lines before the header");
        yield return new TestCaseData(string.Concat(rows.Select(r => r.Split(' ')).Select(c => $"{{\"t\":{c[0]},\"acc\":{{\"x\":{c[1]},\"y\":{c[2]},\"z\":{c[3]}}}}}\n")), null).SetArgDisplayNames("JSON Lines");
    }

    [TestCaseSource(nameof(Dresses))]
    public void Reads(string text, Encoding? encoding)
    {
        using var import = new Importing();
        var recording = import.Import(import.File("log.txt", text, encoding), "acceleration: g\n").Single();
        Assert.That(recording.Channels, Is.EqualTo(s_channels));
        Assert.That(recording.Rate, Is.EqualTo(new Core.Time.SampleRate(50_000)));
    }

    [Test]
    public void Says_what_it_guessed()
    {
        using var import = new Importing();
        var survey = import.Survey(import.File("log.txt", "0 0.1 9.79 0.2\n20 0.1 9.81 0.2\n40 0.1 9.83 0.2\n"), "");
        Assert.That(survey.Doubts, Has.Some.Contain("columns guessed as t, ax, ay, az"));
        Assert.That(survey.Doubts, Has.Some.Contain("time guessed as ms"));
        Assert.That(survey.Doubts, Has.Some.Contain("guessed as m/s2 because the median of |a| is 9.8"));
    }

    [Test]
    public void A_saved_map_leaves_nothing_to_guess_and_gives_the_same()
    {
        using var import = new Importing();
        string log = import.File("log.txt", "stamp;a;b;c\n0;0,1;9,79;0,2\n20;0,1;9,81;0,2\n40;0,1;9,83;0,2\n");
        var survey = import.Survey(log, "columns: {t: stamp, ax: a, ay: b, az: c}\n");
        string saved = Path.Combine(Path.GetDirectoryName(log)!, "saved.yaml");
        ImportMapFile.Write(saved, survey.Map);
        var again = RecordingImport.Survey(log, ImportMapFile.Read(saved), survey.Destination);
        Assert.That(survey.Doubts, Has.Count.EqualTo(2));
        Assert.That(again.Doubts, Is.Empty);
        Assert.That(again.FirstRows, Is.EqualTo(survey.FirstRows));
    }

    [TestCase("a,b\n1,2\n", "", "none of which is known to be motion; expected columns that can be told apart; say --columns ax=NAME")]
    [TestCase("1,2\n3,4\n", "", "2 columns without names; expected columns that can be told apart; say --columns")]
    [TestCase("1 2 3\n", "rate: 50 Hz\n", "acceleration without a unit, whose median magnitude is 3.742")]
    [TestCase("1 2 3\n", "columns: [gx, gy, gz]\nrate: 50 Hz\n", "turning rates without a unit")]
    [TestCase("1 2 3\n", "acceleration: g\n", "no sample rate; expected a rate or a column of stamps; say --rate 50 Hz")]
    [TestCase("", "", "no line of data")]
    [TestCase("t_s,ax_g,ay_g,az_s\n0,0,0,3\n0.02,0,0,3\n", "", "acceleration without a unit, whose median magnitude is 3")]
    [TestCase("t_s,gx_s\n0,0\n0.02,0\n", "", "turning rates without a unit")]
    [TestCase("t_s,ax_g,ay_mg\n0,0,0\n0.02,0,0\n", "", "units g, mg in the names of the acceleration columns")]
    [TestCase("1,0,1\n2,x,1\n3,0\n", "columns: [ax, ay, az]\nacceleration: g\nrate: 50 Hz\nheader: false\nseparator: comma\n", "log.csv:2:3: 'x' as ay; expected a finite number such as -0.98")]
    [TestCase("1,0,1\n2,x,1\n3,0\n", "columns: [ax, ay, az]\nacceleration: g\nrate: 50 Hz\nheader: false\nseparator: comma\n", "log.csv:3: 2 columns; expected 3")]
    [TestCase("1,0,1\n", "columns: {ax: 4}\nacceleration: g\nrate: 50 Hz\nheader: false\n", "log.csv:1: 3 columns; expected 4")]
    [TestCase("ax,ay\n1,0\n", "columns: {ax: AX}\nacceleration: g\nrate: 50 Hz\n", "no column 'AX' for ax; expected one of ax, ay")]
    [TestCase("1,2,3;\n1,2,3;\n1,2,3\n1,2,3;\n", "columns: [ax, ay, az]\nacceleration: g\nrate: 50 Hz\nline_end: ;\n", "log.csv:3: a line that does not end in ';'")]
    [TestCase("{\"ax\":1}\n{\"ax\":\n", "acceleration: g\nrate: 50 Hz\n", "log.csv:2: no JSON object")]
    public void Says_what_is_wrong_and_what_to_say(string text, string map, string part)
    {
        using var import = new Importing();
        string log = import.File("log.csv", text);
        Assert.That(() => import.Survey(log, map), Throws.TypeOf<BadInputException>().With.Message.Contains(part));
    }

    [Test]
    public void A_packed_file_is_no_text()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "");
        File.WriteAllBytes(log, [0x1F, 0x8B, 8, 0]);
        Assert.That(() => import.Survey(log, ""), Throws.TypeOf<BadInputException>().With.Message.Contains("a packed file; expected a text of rows, or Parquet; unpack it first"));
    }

    [Test]
    public void Numbers_keep_their_digits()
    {
        using var import = new Importing();
        import.ImportText("9.810,0.10\n-0.05,1e-3\n", "columns: [ax, az]\nacceleration: m/s2\nrate: 50 Hz\nheader: false\n");
        Assert.That(File.ReadAllText(Path.Combine(import.Out, "log.csv")), Is.EqualTo("ax_mps2,az_mps2\n9.810,0.10\n-0.05,1e-3\n"));
    }

    [Test]
    public void Counts_are_multiplied_exactly()
    {
        using var import = new Importing();
        import.ImportText("1000,-3\n-1,7\n", "columns: [ax, gz]\nacceleration: 0.488 mg\ngyro: 17.5 mdps\nrate: 50 Hz\nheader: false\n");
        Assert.That(File.ReadAllText(Path.Combine(import.Out, "log.csv")), Is.EqualTo("ax_mg,gz_dps\n488.000,-0.0525\n-0.488,0.1225\n"));
    }

    [Test]
    public void Filters_and_parts_and_counts_every_row()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "who,run,ax\nA,1,0.1\nB,1,0.2\nA,01,0.3\nC,1,9\nB,1,0.4\nA,2,9\n");
        var survey = import.Survey(log, "acceleration: g\nrate: 50 Hz\nwhere: {run: 1}\nsplit_by: [who]\n");
        var recordings = Importing.Written(survey);
        Assert.That(recordings.Select(r => r.Channels[0]), Is.EqualTo(new double[][] { [0.1, 0.3], [0.2, 0.4], [9] }));
        Assert.That(survey.Rows, Is.EqualTo(new ImportRowCounts(6, 5, 1, 0, 0, 0)));
        Assert.That(survey.Recordings.Select(r => r.Key.Single()), Is.EqualTo(["A", "B", "C"]));
    }

    [Test]
    public void A_quotation_mark_that_is_not_closed_swallows_no_rows()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "ax,state\n1,\"a\"\n2,\"b\n3,c\n4,d\"\n5,e\n6,f\n");
        const string map = "acceleration: g\nrate: 50 Hz\ncolumns: {ax: ax, label: state}\n";
        Assert.That(() => import.Survey(log, map), Throws.TypeOf<BadInputException>().With.Message.Contains("log.csv:3: a row of 3 lines, held together by quotation marks"));
        Assert.That(import.Survey(log, map + "bad_rows: split\n").Rows, Is.EqualTo(new ImportRowCounts(6, 3, 0, 3, 0, 0)));
    }

    [Test]
    public void Bad_rows_are_reported_and_part_the_recording()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "ax\n1\n2\noops\n3\n\n4\nNaN\n");
        var survey = import.Survey(log, "acceleration: g\nrate: 50 Hz\nbad_rows: split\n");
        var recordings = Importing.Written(survey);
        Assert.That(recordings.Select(r => r.Channels[0]), Is.EqualTo(new double[][] { [1, 2], [3, 4] }));
        Assert.That(survey.Rows, Is.EqualTo(new ImportRowCounts(6, 4, 0, 2, 0, 0)));
        Assert.That(survey.BadRows.Select(f => f.Line), Is.EqualTo([4, 8]));
        Assert.That(survey.Recordings[1].Because, Is.EqualTo("a row that cannot be read before it"));
    }
}
