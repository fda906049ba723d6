using System.Diagnostics;
using System.Runtime.Versioning;
using HilRunner.Transport.Locks;

namespace HilRunner.Transport.Tests.Locks;

[Parallelizable, Platform(Include = "Linux"), UnsupportedOSPlatform("windows")]
public class SharedLockTests
{
    private SharedFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = new();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void OneHasItAndTheOtherIsToldWho()
    {
        using (var first = Take(out _))
        {
            Assert.That(first, Is.Not.Null);
            Assert.That(Take(out var holder), Is.Null);
            Assert.That(
                holder!.Words(TimeProvider.System), Does.Match($@"^process {Environment.ProcessId} since \d\d:\d\d:\d\d$"));
            using var another = SharedLock.Take(_folder.Locks, "rig-b", TimeProvider.System, out _);
            Assert.That(another, Is.Not.Null, "another rig is free");
        }
        using var again = Take(out _);
        Assert.That(again, Is.Not.Null);
        Assert.That(File.GetUnixFileMode(Directory.GetFiles(_folder.Path).Single()),
            Is.EqualTo(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead | UnixFileMode.OtherRead),
            "others may look and not write");
    }

    [Test]
    public void NothingIsLeftBehind()
    {
        Take(out _)!.Dispose();
        Assert.That(Directory.GetFiles(_folder.Path), Is.Empty);
        // What a killed call leaves goes with the next one of its user.
        File.WriteAllText(_folder.In("hil-rig-a-0123456789abcdef.lock"), "");
        SharedFolder.DoAsOther($"touch {_folder.In("hil-rig-a-00.lock")}");
        Take(out _)!.Dispose();
        Assert.That(Directory.GetFiles(_folder.Path).Select(Path.GetFileName),
            Is.EqualTo(new[] { "hil-rig-a-00.lock" }), "another's is left to them");
    }

    /// <summary>Many at once, each over and over: never two at a time, and all come to it.</summary>
    [Test]
    public void NeverTwoAtATime()
    {
        int inside = 0, most = 0, taken = 0;
        Parallel.For(0, 6, new ParallelOptions { MaxDegreeOfParallelism = 6 }, worker =>
        {
            var limit = Stopwatch.StartNew();
            for (int times = 0; times < 5 && limit.Elapsed < TimeSpan.FromSeconds(30);)
            {
                using var mine = Take(out _);
                if (mine is null) { continue; }
                most = Math.Max(most, Interlocked.Increment(ref inside));
                Task.Delay(1).Wait();
                Interlocked.Decrement(ref inside);
                Interlocked.Increment(ref taken);
                times++;
            }
        });
        Assert.That((most, taken), Is.EqualTo((1, 30)));
    }

    /// <summary>
    /// All that another user can put in the way: it is stepped over without waiting, and nothing that it leads to is made,
    /// changed or read.
    /// </summary>
    [Test]
    public void WhatAnotherUserPutsThereIsSteppedOver()
    {
        string kept = _folder.Beside("kept"), made = _folder.Beside("made");
        File.WriteAllText(kept, "kept");
        File.SetUnixFileMode(kept, UnixFileMode.UserRead | UnixFileMode.UserWrite);
        string name = _folder.In("hil-rig-a-");
        SharedFolder.DoAsOther(
            $"ln -s {kept} {name}1.lock; ln -s {made} {name}2.lock; mkfifo {name}3.lock; mkdir {name}4.lock; ln -s {name}5.lock {name}5.lock; echo x > {name}6.lock; chmod 0 {name}6.lock; ln -s /dev/zero {name}7.lock");
        var limit = Stopwatch.StartNew();
        using (var mine = Take(out _))
        {
            Assert.That(mine, Is.Not.Null);
            Assert.That(Take(out _), Is.Null, "two of one user are still kept apart");
        }
        Assert.Multiple(() =>
        {
            Assert.That(limit.Elapsed, Is.LessThan(TimeSpan.FromSeconds(5)));
            Assert.That(File.ReadAllText(kept), Is.EqualTo("kept"));
            Assert.That(File.GetUnixFileMode(kept), Is.EqualTo(UnixFileMode.UserRead | UnixFileMode.UserWrite));
            Assert.That(File.Exists(made), Is.False);
            Assert.That(Directory.GetFileSystemEntries(_folder.Path), Has.Length.EqualTo(7), "theirs stay");
        });
    }

    /// <summary>A user who locks a file for good keeps all from the rig, and is named.</summary>
    [Test]
    public void WhoHoldsItForGoodIsNamed()
    {
        string path = _folder.In("hil-rig-a-77.lock");
        using var hostile = SharedFolder.AsOther($"exec flock {path} sh -c 'echo held; exec cat'");
        try
        {
            Assert.That(hostile.StandardOutput.ReadLine(), Is.EqualTo("held"));
            Assert.That(Take(out var holder), Is.Null);
            Assert.That(holder!.Words(TimeProvider.System),
                Does.Match($@"^process \d+ of user {SharedFolder.Other} since \d\d:\d\d:\d\d \({path}\)$"));
            Assert.That(holder.Process, Is.EqualTo(hostile.Id));
        }
        finally
        {
            hostile.StandardInput.Close();
            hostile.WaitForExit();
        }
        Take(out _)!.Dispose();
    }

    [Test]
    public void OnlyAFolderOfTheSystemsIsShared()
    {
        bool root = Environment.UserName == "root";
        Assert.That(LockFolder.Shared([_folder.Path])?.IsShared, Is.EqualTo(root ? true : null), "sticky, and root's");
        File.SetUnixFileMode(_folder.Path, File.GetUnixFileMode(_folder.Path) & ~UnixFileMode.StickyBit);
        Assert.That(
            LockFolder.Shared([_folder.Path, "/no/such/folder", "/etc/hostname"]), Is.Null, "each could take another's away");
    }

    [Test]
    public void TheOwnFolderIsOnesOwn()
    {
        string state = _folder.Beside("state");
        var own = LockFolder.Own(null, "relative", state);
        Assert.That((own.Path, own.IsShared), Is.EqualTo((Path.Combine(state, "hil"), false)));
        File.SetUnixFileMode(own.Path, File.GetUnixFileMode(own.Path) | UnixFileMode.OtherWrite);
        Assert.That(() => LockFolder.Own(state),
            Throws.InstanceOf<IOException>().With.Message.Contains("a folder that others may write to"));
        Directory.CreateSymbolicLink(_folder.Beside("hil"), own.Path);
        Assert.That(() => OwnFolder.Make(_folder.Beside("hil") + "/"),
            Throws.InstanceOf<IOException>().With.Message.Contains("no folder"), "a link that another user may have put there");
        SharedFolder.DoAsOther($"mkdir {_folder.In("hil")}");
        Assert.That(() => OwnFolder.Make(_folder.In("hil")),
            Throws.InstanceOf<IOException>().With.Message.Contains($"a folder of user {SharedFolder.Other}"));
    }

    private SharedLock? Take(out LockHolder? holder) => SharedLock.Take(_folder.Locks, "rig-a", TimeProvider.System, out holder);
}
