using HilRunner.Core.Recordings.Import;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>Acceleration and gyroscope in two files.</summary>
public class JoinTests
{
    [Test]
    public void By_row()
    {
        using var import = new Importing();
        import.File("g.txt", "10 20\n30 40\n");
        var recording = import.ImportText("1\n2\n", "columns: [ax]\nheader: false\nacceleration: g\nrate: 50 Hz\nwith: {path: g.txt, columns: [gx, gz], separator: space, header: false, gyro: dps}\n").Single();
        Assert.That(recording.ChannelNames, Is.EqualTo(["ax", "gx", "gz"]));
        Assert.That(recording.Channels, Is.EqualTo(new double[][] { [1, 2], [10, 30], [20, 40] }));
    }

    [TestCase("10\n", "log.csv:2: the end of")]
    [TestCase("10\n20\n30\n", "log.csv:2: the end after 2 rows")]
    public void By_row_needs_as_many_rows(string gyro, string fault)
    {
        using var import = new Importing();
        import.File("g.txt", gyro);
        Assert.That(() => import.ImportText("1\n2\n", "columns: [ax]\nheader: false\nacceleration: g\nrate: 50 Hz\nwith: {path: g.txt, columns: [gx], separator: space, header: false, gyro: dps}\n"),
            Throws.TypeOf<BadInputException>().With.Message.Contains(fault));
    }

    [Test]
    public void By_time_between_its_neighbours()
    {
        using var import = new Importing();
        import.File("g.csv", "t,gx\n15,0\n35,20\n55,40\n75,60\n");
        var survey = import.Survey(import.File("log.csv", "t,ax\n0,1\n20,2\n40,3\n55,4\n80,5\n"), "time: ms\ngap: 30 ms\nacceleration: g\nwith: {path: g.csv, time: ms, gyro: dps}\n");
        Assert.That(survey.Rows, Is.EqualTo(new ImportRowCounts(5, 3, 0, 0, 2, 0)));
        Assert.That(Importing.Written(survey).Single().Channels, Is.EqualTo(new double[][] { [2, 3, 4], [5, 25, 40] }));
    }

    [Test]
    public void A_pause_of_the_second_file_is_a_gap()
    {
        using var import = new Importing();
        string Rows(IEnumerable<int> at) => string.Concat(at.Select(i => $"{i * 20},{i}\n"));
        import.File("g.csv", "t,gx\n" + Rows(Enumerable.Range(0, 100).Where(i => i is < 40 or > 60)));
        var recordings = import.ImportText("t,ax\n" + Rows(Enumerable.Range(0, 100)), "time: ms\nat_gaps: split\nacceleration: g\nwith: {path: g.csv, time: ms, gyro: dps}\n");
        Assert.That(recordings.Select(r => r.SampleCount), Is.EqualTo([40, 39]));
    }
}
