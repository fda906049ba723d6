using HilRunner.Core.Recordings;

namespace HilRunner.Core.Tests.Recordings.Import;

public class ImportLabelTests
{
    private const string Log = "t,ax\n10.0,1\n10.1,1\n10.2,1\n10.3,1\n10.4,1\n10.5,1\n10.6,1\n10.7,1\n10.8,1\n10.9,1\n";

    private static LabelInterval Label(int from, int to, string name) => new(new(from * 100_000_000L), new(to * 100_000_000L), name);

    [Test]
    public void From_a_column()
    {
        using var import = new Importing();
        var recording = import.ImportText("t,ax,state\n0,1,a\n0.1,1,a\n0.2,1,\n0.3,1,b\n0.4,1,\"c, d\"\n", "acceleration: g\ntime: s\ncolumns: {t: t, ax: ax, label: state}\nnames: {a: resting}\n").Single();
        Assert.That(recording.Labels, Is.EqualTo([Label(0, 2, "resting"), Label(3, 4, "b"), Label(4, 5, "c, d")]));
    }

    [TestCase("10.2,10.5,a\n10.5,10.6,b\n", "")]
    [TestCase("10200,10500,a\n10500,10600,b\n", "  time: ms\n")]
    [TestCase("a;3;5\nb;6;6\n", "  separator: semicolon\n  columns: [class, first, last]\n")]
    [TestCase("a 2 4\nb 5 5\n", "  separator: space\n  columns: [class, first, last]\n  first_index: 0\n")]
    [TestCase("a 2 5\nb 5 6\n", "  separator: space\n  columns: [class, first, last]\n  first_index: 0\n  last: exclusive\n")]
    [TestCase("n,from,to,what\n7,10.2,10.5,a\n8,10.0,11.0,z\n07,10.5,10.6,2\n", "  header: true\n  columns: [n, start, end, class]\n  where: {n: 7}\n  names: {2: b}\n")]
    public void From_intervals(string labels, string map)
    {
        using var import = new Importing();
        import.File("l.txt", labels);
        var recording = import.ImportText(Log, "acceleration: g\ntime: s\nlabels:\n  path: l.txt\n" + map).Single();
        Assert.That(recording.Labels, Is.EqualTo([Label(2, 5, "a"), Label(5, 6, "b")]));
    }

    [Test]
    public void From_events_each_until_the_next()
    {
        using var import = new Importing();
        import.File("l.txt", "9.5,a\n10.2,b\n10.2,c\n10.8,d\n");
        var survey = import.Survey(import.File("log.csv", Log), "acceleration: g\ntime: s\nlabels: {path: l.txt, columns: [start, class]}\n");
        Assert.That(Importing.Written(survey).Single().Labels, Is.EqualTo([Label(0, 2, "a"), Label(2, 8, "c"), Label(8, 10, "d")]));
        Assert.That(survey.Doubts, Is.Empty);
    }

    [Test]
    public void Labels_follow_the_parts_of_a_log()
    {
        using var import = new Importing();
        import.File("l.txt", "10.1,20.1,a\n");
        var recordings = import.ImportText("t,ax\n10.0,1\n10.1,1\n10.2,1\n20.0,1\n20.1,1\n20.2,1\n", "acceleration: g\ntime: s\nat_gaps: split\nlabels: {path: l.txt}\n");
        Assert.That(recordings.Select(r => r.Labels.Single()), Is.EqualTo([Label(1, 3, "a"), Label(0, 1, "a")]));
    }

    [TestCase("10.2,12.5,a\n", "l.txt:1: a lasts 1.5 s beyond the end of the motion: cut there")]
    [TestCase("10.2,10.5,a\n77,78,b\n", "l.txt:2: 1 label lies in no recording, the first of them b")]
    public void What_is_cut_or_lost_is_said(string labels, string doubt)
    {
        using var import = new Importing();
        import.File("l.txt", labels);
        Assert.That(import.Survey(import.File("log.csv", Log), "acceleration: g\ntime: s\nlabels: {path: l.txt}\n").Doubts, Has.Some.Contain(doubt));
    }

    [TestCase("10.2,10.5,a\n10.4,10.6,b\n", "", "l.txt:2: b, which starts before a (line 1) ends")]
    [TestCase("10.5,10.5,a\n", "", "l.txt:1: a label from 10.5 to 10.5; expected an end after the start")]
    [TestCase("x,10.5,a\n", "", "l.txt:1:1: 'x' as time; expected a number of s")]
    [TestCase("10.2,10.5\n", "", "l.txt:1: 2 columns; expected 3: start, end, class")]
    [TestCase("10.2,10.5,\n", "", "l.txt:1:11: no class")]
    [TestCase("1,a\n", "  columns: [start, class]\n  where: {class: b}\n", "l.txt: no row where class is b")]
    public void Says_where_labels_are_wrong(string labels, string map, string fault)
    {
        using var import = new Importing();
        import.File("l.txt", labels);
        Assert.That(() => import.Survey(import.File("log.csv", Log), "acceleration: g\ntime: s\nlabels:\n  path: l.txt\n" + map), Throws.TypeOf<BadInputException>().With.Message.Contains(fault));
    }
}
