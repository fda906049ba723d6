using System.Diagnostics;
using HilRunner.Core.Files;
using HilRunner.Core.Files.Below;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Files;

/// <summary>
/// What stands in an output folder may have been put there by somebody else: no link out of it is followed, and what is no plain
/// file is refused.
/// </summary>
[Platform("Linux,MacOsX")]
public class PlainFileTests
{
    [Test]
    public void ALinkBelowTheNamedFolderIsNeitherReadNorWritten([Values] bool dangling)
    {
        using var folder = TestPaths.NewFolder();
        string outside = folder.File("outside"),
            link = Path.Combine(Directory.CreateDirectory(folder.File("run")).FullName, "score.json");
        if (!dangling) { File.WriteAllText(outside, "precious"); }
        File.CreateSymbolicLink(link, outside);
        Assert.Multiple(() =>
        {
            Refused("a link", () => PlainFile.OpenRead(link).Dispose());
            Refused("a link", () => PlainFile.ReadText(link));
            Refused("a link", () => PlainFile.AppendText(link, "x"));
            Refused("a link", () => PlainFile.Create(link).Dispose());
            Refused("a link", () => PlainFile.IsThere(link));
            Refused("a link", () => PlainFile.Delete(link));
            Refused("a link", () => AtomicFile.WriteText(link, w => w.Write("x")));
            Assert.That(File.Exists(outside), Is.EqualTo(!dangling));
            if (!dangling) { Assert.That(File.ReadAllText(outside), Is.EqualTo("precious")); }
            Assert.That(Directory.GetFiles(folder.File("run")), Has.Length.EqualTo(1), "nothing is left beside it");
        });
    }

    [Test]
    public void AFifoIsRefusedAtOnceAndNotWaitedFor()
    {
        using var folder = TestPaths.NewFolder();
        string fifo = folder.File("run.yaml");
        Process.Start("mkfifo", fifo).WaitForExit();
        Assert.Multiple(() =>
        {
            Refused("a FIFO", () => PlainFile.OpenRead(fifo).Dispose());
            Refused("a FIFO", () => PlainFile.AppendText(fifo, "x"));
            Refused("a FIFO", () => AtomicFile.WriteText(fifo, w => w.Write("x")));
        });
    }

    [Test]
    public void AFolderThatIsALinkIsNotEnteredBelowTheNamedOne()
    {
        using var folder = TestPaths.NewFolder();
        string elsewhere = Directory.CreateDirectory(folder.File("elsewhere")).FullName,
            batch = Directory.CreateDirectory(folder.File("batch")).FullName;
        Directory.CreateSymbolicLink(Path.Combine(batch, "001"), elsewhere);
        NamedFolders.Add(batch);
        string file = Path.Combine(batch, "001", "score.json");
        Assert.Multiple(() =>
        {
            Refused("a link", () => AtomicFile.WriteText(file, w => w.Write("x")));
            Refused("a link", () => PlainFile.AppendText(file, "x"));
            Refused("a link", () => PlainFile.CreateFolder(Path.Combine(batch, "001")));
            Refused("a link", () => PlainFile.CreateFolder(Path.Combine(batch, "001", "kept")));
            Assert.That(Directory.EnumerateFileSystemEntries(elsewhere), Is.Empty);
        });
    }

    [Test]
    public void TheNamedFolderItselfMayBeALinkAndLieBehindLinks()
    {
        using var folder = TestPaths.NewFolder();
        Directory.CreateDirectory(folder.File("disk/runs"));
        Directory.CreateSymbolicLink(folder.File("here"), folder.File("disk"));
        Directory.CreateSymbolicLink(folder.File("latest"), folder.File("here/runs"));
        NamedFolders.Add(folder.File("latest"));
        string file = Path.Combine(PlainFile.CreateFolder(folder.File("latest/batch/001")), "score.json");
        AtomicFile.WriteText(file, w => w.Write("one"));
        AtomicFile.WriteText(file, w => w.Write("two"));
        PlainFile.AppendText(file, "!");
        Assert.That(PlainFile.ReadText(folder.File("disk/runs/batch/001/score.json")), Is.EqualTo("two!"));
        Assert.That(Directory.GetFiles(folder.File("disk/runs/batch/001")), Has.Length.EqualTo(1));
    }

    [Test]
    public void AFileThatThePersonNamesMayBeALink()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("log.csv"), "t_s,class\n");
        File.CreateSymbolicLink(folder.File("named.csv"), folder.File("log.csv"));
        File.CreateSymbolicLink(folder.File("device"), "/dev/null");
        NamedFolders.Add(folder.File("named.csv"));
        NamedFolders.Add(folder.File("device"));
        Assert.That(PlainFile.ReadText(folder.File("named.csv")), Is.EqualTo("t_s,class\n"));
        AtomicFile.WriteText(folder.File("named.csv"), w => w.Write("new"));
        Assert.That(
            File.ReadAllText(folder.File("log.csv")), Is.EqualTo("t_s,class\n"), "a link is replaced and what it leads to stays");
        Refused("a device", () => AtomicFile.WriteText(folder.File("device"), w => w.Write("new")));
    }

    [Test]
    public void TheNameOfAFileUnderWayCannotBeGuessed()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("outside"), "precious");
        File.CreateSymbolicLink(folder.File("score.json.part"), folder.File("outside"));
        string[] names = new string[2];
        for (int i = 0; i < 2; i++)
        {
            using var file = new NewFile(folder.File("score.json"));
            names[i] = Directory.GetFiles(folder.Path, "score.json.*.part").Single();
            file.Complete();
        }
        Assert.That(names[0], Is.Not.EqualTo(names[1]));
        Assert.That(Path.GetFileName(names[0]), Does.Match("^score\\.json\\.[0-9a-f]{16}\\.part$"));
        Assert.That(File.ReadAllText(folder.File("outside")), Is.EqualTo("precious"));
        Assert.That(Directory.GetFiles(folder.Path, "score.json.*.part"), Is.Empty);
    }

    /// <summary>Where the system has no calls that work inside an open folder, attributes are looked at.</summary>
    [Test]
    public void WithoutSuchCallsLinksAreRefusedToo()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("outside"), "precious");
        string run = Directory.CreateDirectory(folder.File("portable")).FullName;
        File.CreateSymbolicLink(Path.Combine(run, "score.json"), folder.File("outside"));
        Directory.CreateSymbolicLink(Path.Combine(run, "001"), folder.Path);
        NamedFolders.Add(run);
        using (var entry = new PortableEntry(Path.Combine(run, "score.json")))
        {
            foreach (var opening in Enum.GetValues<Opening>()) { Refused("a link", () => entry.Open(opening).Dispose()); }
        }
        Refused("a link", () => new PortableEntry(Path.Combine(run, "001", "outside")).Dispose());
        using (var entry = new PortableEntry(Path.Combine(run, "plain")))
        {
            entry.Open(Opening.New).Dispose();
            entry.Open(Opening.Read).Dispose();
            Assert.That(() => entry.Open(Opening.New), Throws.InstanceOf<IOException>());
        }
        Assert.That(File.ReadAllText(folder.File("outside")), Is.EqualTo("precious"));
    }

    private static void Refused(string what, Action act) =>
        Assert.That(() => act(), Throws.TypeOf<BadInputException>().With.Message.Contains(what), what);
}
