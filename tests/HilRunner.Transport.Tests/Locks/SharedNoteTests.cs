using System.Runtime.Versioning;
using HilRunner.Transport.Locks;

namespace HilRunner.Transport.Tests.Locks;

[Parallelizable, Platform(Include = "Linux"), UnsupportedOSPlatform("windows")]
public class SharedNoteTests
{
    private SharedFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = new();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void TheNextCallReadsWhatTheLastOneLeft()
    {
        using (var first = Note())
        {
            first.Write("a longer text at first");
            first.Write("then this");
        }
        using var second = Note();
        Assert.That(second.Read().Select(n => (n.Text, n.User)), Is.EqualTo(new[] { ("then this", LockHolder.ThisUser) }));
        second.Write("and that");
        Assert.That(second.Read().Select(n => n.Text), Is.EqualTo(new[] { "and that" }), "it takes the first one's place");
    }

    /// <summary>
    /// What others leave is read with their number and never written to; what is no note is passed over without waiting.
    /// </summary>
    [Test]
    public void OfOtherUsers()
    {
        string name = _folder.In("hil-moved-a-");
        File.WriteAllText(_folder.Beside("secret"), "1 2");
        SharedFolder.DoAsOther(
            $"echo '5 6' > {name}1.note; mkfifo {name}2.note; ln -s {_folder.Beside("secret")} {name}3.note; mkdir {name}4.note; yes | head -c 100000 > {name}5.note; printf '1\\033[2J 2' > {name}6.note; : > {name}7.note");
        using var note = Note();
        Assert.That(note.Read(), Is.EqualTo(new[] { new ForeignNote("5 6", SharedFolder.Other) }));
        note.Write("7 8");
        Assert.That(note.Read().Select(n => n.Text), Is.EquivalentTo(new[] { "5 6", "7 8" }));
        Assert.That(File.ReadAllText(name + "1.note"), Is.EqualTo("5 6\n"));
    }

    private SharedNote Note() => new(_folder.Locks, "moved-a");
}
